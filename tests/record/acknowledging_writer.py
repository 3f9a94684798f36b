"""Child of the crash tests: appends turns to 'a.job' in a folder and notes each acknowledged number in 'said'."""

import os
import sys
from collections.abc import Iterator
from pathlib import Path

from assistant.record.codec import encode
from assistant.record.job_file import begin_job
from tests.record import scenario
from tests.record.scenario import ScriptedClock

Turn = list[tuple[str, str]]


def turns(count: int) -> Iterator[Turn]:
    """The scenario's first ones; every fifth carries more than a page."""
    for number, (_, turn) in enumerate(scenario.whole()[:count], start=1):
        more = [("new_kind", f'{{"text":"{"x" * 5_000}"}}')] if number % 5 == 0 else []
        yield [*(encode(each) for each in turn), *more]


def main(folder: Path, count: int) -> None:
    said = os.open(folder / "said", os.O_WRONLY | os.O_CREAT)
    job = begin_job(folder / "a.job", ScriptedClock())
    for turn in turns(count):
        os.write(said, b"%d" % job.append(turn))
    job.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
