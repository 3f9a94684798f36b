"""The jobs of a folder: which are unfinished, and what a new one is called."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from assistant.core import events as ev
from assistant.core.asks import next_ask
from assistant.core.fold import fold
from assistant.exits import Refusal
from assistant.record.codec import decode
from assistant.record.reading import read_job
from assistant.record.review import SUFFIX
from assistant.wording import word


@dataclass(frozen=True)
class Unfinished:
    """A job that can be resumed."""

    path: Path
    job: str
    """Its number, '' before it has one."""
    question: str
    """Where it stopped."""


def unfinished(folder: Path) -> tuple[Unfinished, ...]:
    """The unfinished jobs of `folder`, the one written last first; what cannot be read or is held is left out."""
    files = [each for each in folder.glob(f"*{SUFFIX}") if each.is_file()]
    files.sort(key=lambda each: each.stat().st_mtime_ns, reverse=True)
    return tuple(found for each in files if (found := _look(each)) is not None)


def _look(path: Path) -> Unfinished | None:
    try:
        reading = read_job(path)
        events = [decode(row.kind, row.payload) for row in reading.rows]
    except Refusal:
        return None
    if reading.damage or reading.newer or any(isinstance(each, ev.Started) and each.practice for each in events):
        return None
    state = fold(events)
    ask = next_ask(state)
    return None if ask is None else Unfinished(path, state.job, word(ask.shortest, state.tape).show)


def named(path: Path) -> Path:
    """The job file that is meant by `path`: what is there, or else the name with SUFFIX, by which jobs are found.

    A file without a byte is nothing that is there: it would become a job that nobody finds.
    """
    there = path.stat().st_size > 0 if path.is_file() else path.exists()
    return path if there or path.suffix == SUFFIX else path.with_name(f"{path.name}{SUFFIX}")


def new_path(folder: Path) -> Path:
    """A name nobody has: carpet.job, carpet-2.job ..."""
    return next(each for each in _names(folder) if not each.exists())


def _names(folder: Path) -> Iterator[Path]:
    yield folder / f"carpet{SUFFIX}"
    yield from (folder / f"carpet-{number}{SUFFIX}" for number in count(2))


def which_job(folder: Path, ask: Callable[[str], str] | None) -> Path:
    """The job to work on: the only unfinished one, the one chosen of several, or a new one.

    `ask` puts a question and gives the line typed; None = nobody can be asked, so the newest is taken.
    """
    found = unfinished(folder)
    if not found:
        return new_path(folder)
    if len(found) == 1 or ask is None:
        return found[0].path
    rows = [f"  {n}  {e.path.name}, job {e.job or 'without a number'}: {e.question}" for n, e in enumerate(found, 1)]
    question = "\n".join(["Unfinished jobs:", *rows, "Number, 0 for a new one, Enter for the first: "])
    typed = ask(question).strip()
    while typed and not (typed.isdecimal() and int(typed) <= len(found)):
        typed = ask(f"'{typed}': a number from 0 to {len(found)}: ").strip()
    at = int(typed or 1)
    return found[at - 1].path if at else new_path(folder)
