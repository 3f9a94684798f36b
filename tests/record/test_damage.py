"""R4, R8 to R10 and R13: damage placed, clocks that jump, two runs, other versions, changes after the fact."""

import json
import random
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.core import events as ev
from assistant.core.fold import fold
from assistant.core.log_events import ClockJumped
from assistant.exits import Exit, Refusal
from assistant.record.chain import Row, chained
from assistant.record.clock import clock_jumps
from assistant.record.code import Match, check_code, job_code
from assistant.record.codec import decode, encode
from assistant.record.job_file import begin_job, resume_job
from assistant.record.job_log import JobLog
from assistant.record.reading import read_job
from assistant.record.review import SUFFIX, review
from assistant.record.summary import summarise
from assistant.record.verify import verify
from tests.record import scenario
from tests.record.scenario import BEGIN, ScriptedClock
from tests.record.test_job_file import tamper
from tests.record.test_old_job import STORED

Tell = Callable[[str], None]
TREE = Path(__file__).parents[2]


# R4: whatever happens to the bytes.


def broken(whole: bytes, nightly: bool) -> Iterator[tuple[str, bytes]]:
    """Cut at every offset, 20,000 bits flipped, every block zeroed or doubled; a part of them by day."""
    chance = random.Random(4)
    size = len(whole)
    for at in range(size) if nightly else chance.sample(range(size), 60):
        yield f"cut at {at}", whole[:at]
    for bit in chance.sample(range(size * 8), 20_000 if nightly else 100):
        at = bit // 8
        yield f"bit {bit}", whole[:at] + bytes([whole[at] ^ (1 << bit % 8)]) + whole[at + 1 :]
    for length in (64, 512, 4096):
        places = range(0, size, length)
        for at in places if nightly else chance.sample(places, min(5, len(places))):
            block = whole[at : at + length]
            yield f"{length} zeros at {at}", whole[:at] + bytes(len(block)) + whole[at + len(block) :]
            other = chance.randrange(0, size, length)
            yield f"{length} of {at} doubled at {other}", (whole[:other] + block + whole[other + length :])[:size]


def test_r4_no_damage_to_the_bytes_invents_a_row(tmp_path: Path, nightly: bool, tell: Tell) -> None:
    """What is read is a beginning of what was written; nothing is deleted: the file stays as it was found."""
    path = scenario.write(tmp_path / "a.job", scenario.whole()[:12])
    whole, written = path.read_bytes(), read_job(path).rows
    count = found = placed = 0
    for what, content in broken(whole, nightly):
        count += 1
        path.write_bytes(content)
        try:
            reading = read_job(path)
        except Refusal as refused:
            assert refused.code is Exit.BAD_JOB, what
            damaged = True
        else:
            assert reading.rows == written[: len(reading.rows)], what
            assert reading.damage or len(reading.rows) == len(written) or reading.newer or reading.blank, what
            damaged = bool(reading.damage)
            placed += "row " in reading.damage
            whole_again = reading.blank or reading.rows == written
            assert reading.damage or whole_again or not resumes(path), what
        found += damaged
        assert told(path) == damaged, what
        assert not (damaged and resumes(path)), what
        assert path.read_bytes() == content or not content, what
    assert found > count // 4 and placed > 0
    tell(f"R4: {count} damaged files, {found} found damaged, {placed} with their row, 0 rows invented")


def told(path: Path) -> bool:
    """Does 'verify' say so, too? In one line, or in words and in JSON."""
    try:
        found = verify(path)
    except Refusal:
        return True
    assert found.as_text() and json.loads(found.as_json())["rows"] == found.audit.rows
    return bool(found.scan.damage)


def resumes(path: Path) -> bool:
    """Does the job go on? Flips in unused bytes harm nothing."""
    try:
        resume_job(path, ScriptedClock()).close()
    except Refusal:
        return False
    return True


RECORDS = {
    "swapped": (
        "UPDATE rows SET seq = 99 WHERE seq = 5",
        "UPDATE rows SET seq = 5 WHERE seq = 6",
        "UPDATE rows SET seq = 6 WHERE seq = 99",
    ),
    "doubled": (
        "UPDATE rows SET seq = -seq WHERE seq > 5",
        "UPDATE rows SET seq = 1 - seq WHERE seq < 0",
        "INSERT INTO rows SELECT 6, wall, monotonic_ms, kind, payload, hash FROM rows WHERE seq = 5",
    ),
}


@pytest.mark.parametrize("how", RECORDS)
def test_r4_swapped_and_doubled_records_are_placed(tmp_path: Path, how: str) -> None:
    path = scenario.write(tmp_path / "a.job", scenario.whole()[:12])
    written = read_job(path).rows
    tamper(path, *RECORDS[how])
    reading = read_job(path)
    place = 5 if how == "swapped" else 6
    assert reading.damage.startswith(f"row {place} was changed or damaged")
    assert reading.rows == written[: place - 1]


@pytest.mark.parametrize("value", ["soon", 1.5, b"12"])
def test_r4_a_made_up_row_of_other_types_is_placed(tmp_path: Path, value: object) -> None:
    """SQLite keeps a text in a column of numbers, and its hash can be made to fit."""
    path = scenario.write(tmp_path / "a.job", scenario.whole()[:3])
    last = read_job(path).rows[-1]
    base = sqlite3.connect(path)
    row = chained(last.seq + 1, last.wall, value, "paused", "{}", last.hash)  # type: ignore[arg-type]
    values = (row.seq, row.wall, value, row.kind, row.payload, row.hash)
    base.execute("INSERT INTO rows VALUES (?, ?, ?, ?, ?, ?)", values)
    base.commit()
    base.close()
    reading = read_job(path)
    assert reading.rows[-1] == last and reading.damage.startswith(f"row {row.seq} was changed")
    assert review(path).code is Exit.FINDINGS and verify(path).exit is Exit.FINDINGS
    assert not resumes(path)


def test_r4_a_torn_tail_is_set_aside_and_never_deleted(tmp_path: Path) -> None:
    """The page that holds the last rows is half there: those before can be read, and the file is left as it is."""
    path = scenario.write(tmp_path / "a.job")
    torn = path.read_bytes()[:-2_000]
    written = read_job(path).rows
    path.write_bytes(torn)
    with pytest.raises(Refusal, match="damaged") as refused:
        resume_job(path, ScriptedClock())
    assert refused.value.code is Exit.BAD_JOB
    reading = read_job(path)
    assert reading.damage and reading.rows == written[: len(reading.rows)]
    assert path.read_bytes() == torn


# R8: clocks that jump.

SUMMER = timezone(timedelta(hours=2))
JUMPS = [
    ("an hour back", lambda now: now - timedelta(hours=1), -3_600_000),
    ("a day on", lambda now: now + timedelta(days=1), 86_400_000),
    ("summer time begins", lambda now: now.astimezone(SUMMER), None),
    ("1970", lambda now: datetime(1970, 1, 1, tzinfo=UTC), -1773731100000),
]


@pytest.mark.parametrize(("name", "change", "logged"), JUMPS, ids=[each[0] for each in JUMPS])
def test_r8_a_clock_that_jumps(
    tmp_path: Path, name: str, change: Callable[[datetime], datetime], logged: int | None
) -> None:
    """The order is that of the rows, durations are monotonic, the jump has its own row; a new offset is no jump."""
    clock = ScriptedClock()
    log = JobLog(begin_job(tmp_path / "a.job", clock), clock, print)
    log.append([encode(scenario.started()), encode(ev.JobNamed("7"))])
    clock.now = change(clock.now)
    log.append([encode(ev.Paused())])
    clock.pass_by(90)
    log.append([encode(ev.Resumed())])
    log.close()
    rows = read_job(tmp_path / "a.job").rows
    assert [each.seq for each in rows] == list(range(1, len(rows) + 1))
    assert [each.monotonic_ms for each in rows] == sorted(each.monotonic_ms for each in rows)
    noted = [(number, decode(each.kind, each.payload)) for number, each in enumerate(rows, start=1)]
    jumps = [(number, event) for number, event in noted if isinstance(event, ClockJumped)]
    assert jumps == ([] if logged is None else [(3, ClockJumped(logged))])
    summary = summarise(rows)
    assert [each.seconds for each in summary.timeline if each.what == "pause"] == [90.0]
    assert [round(each.seconds * 1000) for each in summary.clock_jumps] == ([] if logged is None else [logged])
    assert not summary.damage and fold(event for _, event in noted).job == "7"


def test_r8_a_clock_set_back_between_two_sessions_is_logged(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    for begin in (BEGIN, BEGIN - timedelta(days=1)):
        clock = ScriptedClock(begin)
        log = JobLog(resume_job(path, clock) if path.exists() else begin_job(path, clock), clock, print)
        log.append([encode(scenario.started())])
        log.close()
    assert [each.kind for each in read_job(path).rows] == ["started", "clock_jumped", "started"]
    assert len(clock_jumps(read_job(path).rows)) == 1


def test_r8_over_a_stop_the_log_the_report_and_verify_tell_one_jump(tmp_path: Path) -> None:
    """Set back while no session ran, on a machine that was not restarted: its monotonic time went on."""
    path, clock = tmp_path / "a.job", ScriptedClock()
    for back in (timedelta(), timedelta(hours=1)):
        clock.pass_by(600)
        clock.now -= back
        log = JobLog(resume_job(path, clock) if path.exists() else begin_job(path, clock), clock, print)
        log.append([encode(scenario.started())])
        log.close()
    rows = read_job(path).rows
    assert decode(rows[1].kind, rows[1].payload) == ClockJumped(-3_000_000)
    assert [(each.seq, each.seconds) for each in summarise(rows).clock_jumps] == [(3, -3000.0)]
    assert [(each.seq, each.seconds) for each in verify(path).audit.jumps] == [(3, -3000.0)]


# R9: two runs on one job.

HOLD = """
import sys
from pathlib import Path
from assistant.record.clock import SystemClock
from assistant.record.job_file import begin_job
job = begin_job(Path(sys.argv[1]), SystemClock())
job.append([("a", "{}")])
print("held", flush=True)
sys.stdin.read()
job.append([("b", "{}")])
job.close()
"""


def test_r9_the_second_run_ends_with_its_own_exit_code(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Against another process, by every command that opens a job; the first one goes on."""
    path = tmp_path / "practice.job"
    first = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=TREE
    )
    assert first.stdin is not None and first.stdout is not None
    assert first.stdout.readline() == "held\n"
    calls = (
        ["review", str(path)],
        ["verify", str(path)],
        ["forget", str(path), "--audio"],
        ["practice", "--auto", "--out", str(tmp_path)],
    )
    for call in calls:
        assert main(call) == Exit.JOB_BUSY == 7, call
        assert "another pullcall has this job open" in capsys.readouterr().err
    first.communicate("")
    assert first.returncode == 0
    assert [each.kind for each in read_job(path).rows] == ["a", "b"]


# R10: older, newer, unknown.


def test_r10_an_older_log_is_read_and_gone_on_with(tmp_path: Path) -> None:
    path = tmp_path / "old.job"
    job = begin_job(path, ScriptedClock())
    job.append(STORED)
    job.close()
    again = resume_job(path, ScriptedClock())
    assert fold(decode(*each) for each in again.rows()).job == "0427"
    assert again.append([encode(ev.Paused())]) == len(STORED) + 1
    again.close()
    assert review(path).code is Exit.DONE


def test_r10_a_newer_log_is_read_and_refused_for_writing(tmp_path: Path) -> None:
    path = scenario.write(tmp_path / f"new{SUFFIX}")
    base = sqlite3.connect(path)
    base.execute("PRAGMA user_version = 2")
    base.close()
    before = path.read_bytes()
    with pytest.raises(Refusal, match="newer pullcall") as refused:
        resume_job(path, ScriptedClock())
    assert refused.value.code is Exit.BAD_JOB
    assert read_job(path).rows == scenario.rows()
    assert path.read_bytes() == before


def test_r10_a_kind_nobody_knows_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    later = ("carpet_sung", '{"song":"é"}')
    job = begin_job(path, ScriptedClock())
    job.append([encode(scenario.started()), later])
    job.close()
    job = resume_job(path, ScriptedClock())
    job.append([encode(ev.JobNamed("7"))])
    assert list(job.rows())[1] == later
    job.close()
    assert "unknown kind 'carpet_sung', kept" not in review(path).text
    assert decode(*later) == ev.Unknown(*later)
    assert summarise(read_job(path).rows).job == "7"


# R13: changes after the fact.


def changed(path: Path, to: Path, *statements: str) -> tuple[Row, ...]:
    shutil.copyfile(path, to)
    tamper(to, *statements)
    return read_job(to).rows


def test_r13_what_the_chain_finds_and_what_only_the_code_finds(tmp_path: Path) -> None:
    """Edit, delete inside: the chain alone. Delete the tail, replace the whole log: only the code kept elsewhere."""
    path = scenario.write(tmp_path / "a.job")
    code = job_code(scenario.rows())
    assert check_code(code, read_job(path).rows).match is Match.FITS

    reading = next(each.seq for each in scenario.rows() if "13/8" in each.payload)
    edit = f"UPDATE rows SET payload = replace(payload, '13/8', '14/8') WHERE seq = {reading}"
    changed(path, tmp_path / "edit.job", edit)
    assert read_job(tmp_path / "edit.job").damage.startswith(f"row {reading} was changed")
    changed(path, tmp_path / "inside.job", "DELETE FROM rows WHERE seq = 30")
    assert read_job(tmp_path / "inside.job").damage == "row 30 is missing"

    tail = changed(path, tmp_path / "tail.job", "DELETE FROM rows WHERE seq > 100")
    assert read_job(tmp_path / "tail.job").damage == "" and len(tail) == 100
    assert check_code(code, tail).match is Match.DIFFERS
    other = scenario.whole()
    other[1] = (6, (ev.Said("job", "job one", 1.0, "voice"), ev.JobNamed("1")))
    replaced = read_job(scenario.write(tmp_path / "whole.job", other))
    assert replaced.damage == ""
    assert check_code(code, replaced.rows).match is Match.DIFFERS
    for name, found in (("edit", False), ("inside", False), ("tail", True), ("whole", True)):
        verified = json.loads(verify(tmp_path / f"{name}.job", code).as_json())
        assert verified["consistent"] is found
        assert verified["given_code"] == ("differs" if found else "not checked")
