"""R1 to R3: whatever a crash leaves, every acknowledged row is there, and none that was never appended."""

import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from itertools import accumulate
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.core.asks import next_ask
from assistant.core.fold import fold
from assistant.core.state import State
from assistant.exits import Exit
from assistant.record.codec import decode
from assistant.record.job_file import resume_job
from assistant.record.reading import read_job
from assistant.wording import word
from tests.record import acknowledging_writer, crash
from tests.record.crash import TREE, Call, Crash
from tests.record.scenario import ScriptedClock

Tell = Callable[[str], None]
ANSWER = re.compile(r"^ +(pullcall|helper): ")
ROOM = ("--room", "10 ft", "9 ft")
PROGRAM = "import sys; from assistant.cli import main; sys.exit(main())"


@pytest.fixture
def calls(tmp_path: Path, nightly: bool) -> list[Call]:
    """What the writer of a few turns asks of the disk."""
    why = crash.traced(tmp_path)
    if why:
        pytest.skip(f"{why}: the writer's system calls cannot be recorded")
    (tmp_path / "written").mkdir()
    return crash.record(tmp_path / "written", "tests.record.acknowledging_writer", str(24 if nightly else 7))


def hold(crashes: Iterable[Crash], folder: Path, turns: list[acknowledging_writer.Turn]) -> int:
    """Open each with the program; how many there were."""
    rows = [row for turn in turns for row in turn]
    ends = [0, *accumulate(len(turn) for turn in turns)]
    count = 0
    for each in crashes:
        count += 1
        path = each.lay_out(folder)
        if not path.exists():
            assert each.acknowledged == 0, each.where
            continue
        seen = [(row.kind, row.payload) for row in read_job(path).rows]
        job = resume_job(path, ScriptedClock())
        found = list(job.rows())
        assert found == seen, f"{each.where}: reading and resuming differ"
        assert found == rows[: len(found)], f"{each.where}: a row was invented"
        at = ends.index(each.acknowledged)
        assert len(found) in ends[at : at + 2], f"{each.where}: {each.acknowledged} acknowledged, {len(found)} found"
        assert job.append([("a", "{}")]) == len(found) + 1
        job.close()
    return count


def test_r1_a_crash_at_every_call_and_byte(tmp_path: Path, calls: list[Call], nightly: bool, tell: Tell) -> None:
    turns = list(acknowledging_writer.turns(24 if nightly else 7))
    written = crash.bytes_of_last(calls)
    assert [each.at for each in calls if each.kind == "said"] == list(accumulate(map(len, turns)))
    torn = range(written) if nightly else random.Random(1).sample(range(written), 80)
    count = hold(crash.in_order(calls, torn), tmp_path / "crashed", turns)
    assert count >= (1_000 if nightly else 150)
    tell(f"R1: {count} crash points, 0 acknowledged rows lost")


def test_r3_what_was_not_synced_is_dropped_or_reordered(
    tmp_path: Path, calls: list[Call], nightly: bool, tell: Tell
) -> None:
    turns = list(acknowledging_writer.turns(24 if nightly else 7))
    states = crash.out_of_order(calls, 20 if nightly else 2, random.Random(3))
    count = hold(states, tmp_path / "crashed", turns)
    assert count >= (1_000 if nightly else 100)
    tell(f"R3: {count} states of a disk that keeps only what was synced, 0 acknowledged rows lost")


def test_r2_kill_9_in_mid_append(tmp_path: Path, nightly: bool, tell: Tell) -> None:
    """Again and again on one file: recovered = acknowledged, or one append more."""
    if not hasattr(signal, "SIGKILL"):
        pytest.skip("this system has no SIGKILL")
    path, chance, known, kills = tmp_path / "a.job", random.Random(42), 0, 200 if nightly else 10
    for _ in range(kills):
        child = subprocess.Popen(
            [sys.executable, "-m", "tests.record.killed_writer", str(path)], stdout=subprocess.PIPE, cwd=TREE
        )
        assert child.stdout is not None
        first = child.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.06))
        child.kill()
        lines = [first, *child.stdout.read().splitlines()]
        child.wait()
        child.stdout.close()
        acknowledged = int(lines[-1])
        reading = read_job(path)
        assert reading.damage == ""
        assert known < acknowledged <= len(reading.rows) <= acknowledged + 3
        known = len(reading.rows)
    job = resume_job(path, ScriptedClock())
    assert len(list(job.rows())) == known
    job.close()
    tell(f"R2: {kills} SIGKILLs of a writer, {known} rows, 0 lost")


def folded(path: Path) -> State:
    return fold(decode(row.kind, row.payload) for row in read_job(path).rows)


def asked(path: Path) -> str:
    """The line that a job is resumed with, by the fold of its log; '' where nothing tells."""
    ask = next_ask(folded(path)) if path.exists() else None
    if ask is None:
        return ""
    told = word(ask.lines[0], folded(path).tape)
    return f"        {'helper:  ' if told.helper else 'pullcall: '}{told.show}"


def killed(folder: Path, after_s: float) -> list[str]:
    """Lines the whole program showed before it was killed."""
    call = [sys.executable, "-c", PROGRAM, "practice", *ROOM, "--auto", "--out", str(folder)]
    child = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, cwd=TREE, encoding="utf-8")
    time.sleep(after_s)
    child.kill()
    assert child.stdout is not None
    lines = [each for each in child.stdout.read().split("\n")[:-1] if each]  # the last one may be half a line
    child.wait()
    child.stdout.close()
    return lines


def test_r2_kill_9_of_the_whole_program(tmp_path: Path, nightly: bool, tell: Tell) -> None:
    """Start-up and recovery included: no answer shown without its row, and it goes on at the question of the fold."""
    if not hasattr(signal, "SIGKILL"):
        pytest.skip("this system has no SIGKILL")
    begun = time.monotonic()
    assert main(["practice", *ROOM, "--auto", "--out", str(tmp_path / "0")]) == Exit.DONE
    whole_s = time.monotonic() - begun + 1.0
    chance, kills, job, answered, before = random.Random(7), 1_000 if nightly else 6, 1, 0, 0
    for _ in range(kills):
        path = tmp_path / str(job) / "practice.job"
        question = asked(path)
        lines = killed(path.parent, chance.uniform(0.1, whole_s))
        if not path.exists():
            assert not [each for each in lines if each.startswith("you:")]
            continue
        assert not question or lines[:1] in ([], [question])
        places = [number for number, each in enumerate(lines) if each.startswith("you:")]
        complete = sum(any(ANSWER.search(each) for each in lines[place + 1 :]) for place in places)
        reading = read_job(path)
        said = sum(row.kind == "said" for row in reading.rows)
        assert reading.damage == ""
        assert before + complete <= said <= before + len(places) + 1
        answered, before = answered + complete, said
        if folded(path).finished:
            job, before = job + 1, 0
    assert answered > 0
    tell(f"R2: {kills} SIGKILLs of the program, {job} jobs, {answered} answers, 0 lost")
