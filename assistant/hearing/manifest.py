"""A manifest of recordings: what is said in each file, at which ask, and what it means.

Tab-separated, first line the names of the columns: file, ask, text, meaning, voice, seed, and if wanted kind.
"""

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from assistant.core.meaning import Meaning
from assistant.exits import Exit, Refusal
from assistant.speech.grammars import grammar, listened_under
from assistant.speech.understand import understand

NONE = "none"
"""The meaning of what is no sentence of its ask."""
COLUMNS = ("file", "ask", "text", "meaning", "voice", "seed")
KIND = "kind"
HUMAN = "human"


@dataclass(frozen=True)
class Item:
    """One recording."""

    file: Path
    """Where the sound is."""
    ask: str
    """Whose grammar listens."""
    text: str
    """Words spoken."""
    meaning: str
    """As `told` writes it; NONE for speech outside the grammar."""
    voice: str
    """Who speaks; a person's name begins with 'human:', another synthesiser's with its name and a colon."""
    seed: int
    """Of speed, level, noise and room."""
    kind: str = ""
    """Of speech outside the grammar: talk, radio, near, cut; 'task' inside."""

    @property
    def inside(self) -> bool:
        """A sentence of the grammar of its ask."""
        return self.meaning != NONE

    @property
    def human(self) -> bool:
        """Spoken by a person, not by a synthesiser."""
        return self.voice.partition(":")[0] == HUMAN


def told(meaning: Meaning | None) -> str:
    """A meaning as one line: act, figures with units, digits after '#', word, manner; as in grammars/forms.toml."""
    if meaning is None:
        return NONE
    figures = [f"{each.value} {each.unit}" for each in meaning.quantities]
    digits = f"#{meaning.digits}" if meaning.digits else ""
    return " ".join(each for each in (meaning.act, *figures, digits, meaning.word, meaning.manner) if each)


def meaning_of(text: str, ask: str) -> str:
    """What `text` means at `ask`."""
    return told(understand(text, grammar(ask)))


def read_manifest(file: Path) -> list[Item]:
    """The recordings of a manifest, in its order.

    Raises Refusal (USAGE) naming file and line: no such file, a column missing, an unknown ask, a recording that is not
    there or named twice, a seed that is no number, a meaning that the text does not have at its ask.
    """
    try:
        lines = file.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        why = getattr(error, "strerror", None) or "not UTF-8 text"
        raise Refusal(Exit.USAGE, f"{file}: cannot be read ({why}); name a manifest.tsv") from None
    names = lines[0].split("\t") if lines else []
    missing = [each for each in COLUMNS if each not in names]
    if missing:
        _refuse(file, 1, f"lacks the column {missing[0]}; the first line is: {', '.join(COLUMNS)}, tabs between")
    items, seen = list[Item](), set[str]()
    for number, line in enumerate(lines[1:], 2):
        if line.strip():
            items.append(_item(file, number, names, line.split("\t"), seen))
    if not items:
        _refuse(file, 1, "names no recording; add a line for each")
    return items


def _refuse(file: Path, line: int, why: str) -> NoReturn:
    raise Refusal(Exit.USAGE, f"{file} line {line}: {why}")


def _item(file: Path, number: int, names: list[str], cells: list[str], seen: set[str]) -> Item:
    if len(cells) != len(names):
        _refuse(file, number, f"{len(cells)} cells; the first line names {len(names)} columns, one tab between two")
    row = dict(zip(names, cells, strict=True))
    if row["ask"] not in listened_under():
        _refuse(file, number, f"ask '{row['ask']}' is unknown; one of {', '.join(listened_under())}")
    if not row["seed"].isdecimal():
        _refuse(file, number, f"seed '{row['seed']}' is no whole number; write one such as 17")
    if row["file"] in seen or not row["file"]:
        _refuse(file, number, f"recording '{row['file']}' is named twice or not at all; each has its own line")
    seen.add(row["file"])
    if not (file.parent / row["file"]).is_file():
        _refuse(file, number, f"recording '{row['file']}' is not there; make it or take the line out")
    means = meaning_of(row["text"], row["ask"])
    if row["meaning"] != means:
        _refuse(file, number, f"meaning '{row['meaning']}'; '{row['text']}' at ask {row['ask']} means '{means}'")
    kind = row.get(KIND, "") or ("other" if means == NONE else "task")
    return Item(file.parent / row["file"], row["ask"], row["text"], means, row["voice"], int(row["seed"]), kind)


def write_manifest(items: Iterable[Item], file: Path) -> None:
    """Write `items`, their files relative to the folder of `file`."""
    out = io.StringIO()
    table = csv.writer(out, delimiter="\t", lineterminator="\n", quoting=csv.QUOTE_NONE)
    table.writerow((*COLUMNS, KIND))
    for each in items:
        name = each.file.relative_to(file.parent).as_posix()
        table.writerow((name, each.ask, each.text, each.meaning, each.voice, each.seed, each.kind))
    file.write_text(out.getvalue(), encoding="utf-8")
