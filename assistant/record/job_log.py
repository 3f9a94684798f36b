"""The log of a session: a job file, and a new one begun by itself when the disk fails under it.

Implements ports.Store.
"""

import glob
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from itertools import count
from pathlib import Path

from assistant.core.log_events import CarriedOn, ClockJumped
from assistant.exits import Exit, Refusal
from assistant.ports import Clock
from assistant.record.chain import Row
from assistant.record.clock import clock_jumps
from assistant.record.codec import decode, encode
from assistant.record.job_file import JobFile, begin_job
from assistant.record.reading import read_job
from assistant.record.trouble import DiskFailed

_Rows = Sequence[tuple[str, str]]
_LINK = "carried_on"


class JobLog:
    """Keeps every acknowledged row in memory too, so that a disk that has gone cannot take them away."""

    def __init__(self, job: JobFile, clock: Clock, alarm: Callable[[Path], object]) -> None:
        """`alarm` is told the path of each new file, before anything recorded there is acknowledged.

        Raises Refusal (BAD_JOB), with `job` closed, for a file that went on in a new one: the job must not fork.
        """
        self._job, self._clock, self._alarm = job, clock, alarm
        self._kept = list(job.history())
        later = _later(job.path, self._kept)
        if later is not None:
            job.close()
            raise Refusal(Exit.BAD_JOB, f"{job.path}: went on in {later} after a disk error; resume that one")

    @property
    def path(self) -> Path:
        """The file written at present."""
        return self._job.path

    @property
    def head(self) -> str:
        """Hash of the last row."""
        return self._job.head

    def append(self, rows: _Rows) -> int:
        """As the port asks. A jump of the wall clock gets a row of its own in front.

        Raises DiskFull, after which it may be tried again, or DiskFailed where no other place takes the job either.
        """
        rows = (*self._jump(rows), *rows)
        try:
            self._write(self._job, rows)
        except DiskFailed as error:
            self._carry_on(rows, error)
        return len(self._kept)

    def _jump(self, rows: _Rows) -> _Rows:
        for jump in clock_jumps((*self._kept[-1:], *self._job.next_rows(rows[:1]))):
            if jump.seconds:
                return [encode(ClockJumped(round(jump.seconds * 1000)))]
        return []

    def _write(self, job: JobFile, rows: _Rows) -> None:
        made = job.next_rows(rows)
        job.write(made)
        self._kept += made

    def _carry_on(self, rows: _Rows, error: DiskFailed) -> None:
        """Into the first place that takes the rows so far, the link, and what could not be written."""
        old = self._job
        link = encode(CarriedOn(old.path.name, len(self._kept), old.head))
        old.close()
        for folder in _places(old.path):
            try:
                self._job = self._copied(_free(folder, old.path), (link, *rows))
            except (Refusal, OSError):  # pathlib passes on what a dead card answers
                continue
            self._alarm(self._job.path)
            return
        raise error

    def _copied(self, path: Path, more: _Rows) -> JobFile:
        """A new file whose rows are those so far, hash by hash: its chain goes on from the old one's head."""
        job = begin_job(path, self._clock)
        try:
            # In one write: a copy without its link could be resumed beside this one.
            rows = (*self._kept, *job.next_rows(more, self._kept))
            job.write(rows)
        except BaseException:
            job.close()
            path.unlink(missing_ok=True)
            raise
        self._kept = list(rows)
        return job

    def rows(self) -> Iterator[tuple[str, str]]:
        """Every row's kind and payload in order."""
        return ((each.kind, each.payload) for each in self._kept)

    def history(self) -> tuple[Row, ...]:
        """Every row in order, with its times."""
        return tuple(self._kept)

    def close(self) -> None:
        """Give the job file back."""
        self._job.close()


def _places(path: Path) -> Iterator[Path]:
    """Beside the old file, or else at home: a card that was pulled out takes no new file either."""
    yield path.parent
    with suppress(RuntimeError):
        yield Path.home()


def _later(path: Path, rows: Sequence[Row]) -> Path | None:
    """The file that goes on from one of these rows; None = there is none."""
    heads = {each.hash for each in rows}
    for folder in _places(path):
        for other in sorted(folder.glob(f"{glob.escape(path.stem)}-*{path.suffix}")):
            with suppress(Refusal):
                links = [decode(each.kind, each.payload) for each in read_job(other).rows if each.kind == _LINK]
                if any(isinstance(each, CarriedOn) and each.file == path.name and each.head in heads for each in links):
                    return other
    return None


def _free(folder: Path, old: Path) -> Path:
    names = (folder / f"{old.stem}-{number}{old.suffix}" for number in count(2))
    return next(each for each in names if not each.exists())
