"""R5 to R7: disks that are full, read-only or failing. Nothing is acknowledged that is not there, and it is said."""

import errno
import json
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.conversation import Conversation
from assistant.core.length import System
from assistant.core.line import line
from assistant.core.log_events import CarriedOn
from assistant.core.meaning import Meaning
from assistant.exits import Exit, Refusal
from assistant.ports import Heard
from assistant.record.code import Match, check_code
from assistant.record.codec import decode
from assistant.record.job_file import JobFile, begin_job, resume_job
from assistant.record.job_log import JobLog
from assistant.record.reading import read_job
from assistant.record.trouble import DiskFailed
from assistant.wording import word
from tests.record import crash, scenario
from tests.record.crash import TREE
from tests.record.scenario import ScriptedClock
from tests.record.test_job_file import base_of

Tell = Callable[[str], None]
CHILD = "tests.record.disk_child"
SYNCS = "fdatasync,fsync"


def result(done: subprocess.CompletedProcess[str]) -> Any:
    assert "RESULT " in done.stdout, done.stderr[-2_000:]
    return json.loads(done.stdout.split("RESULT ", 1)[1])


def on_small_disk(place: Path, what: str) -> Any:
    """Run the child where a 64 KB disk is mounted; the tests may run as root, for whom no mode bit counts."""
    probe = ["unshare", "-rm", "mount", "-t", "tmpfs", "none", str(place)]
    if not shutil.which("unshare") or subprocess.run(probe, capture_output=True).returncode:
        pytest.skip("mounting in a name space of its own is not allowed here")
    shell = f"mount -t tmpfs -o size=64k none '{place}' && exec '{sys.executable}' -m {CHILD} {what} '{place}'"
    environment = {**os.environ, "HOME": str(place / "none")}
    return result(
        subprocess.run(
            ["unshare", "-rm", "sh", "-c", shell],
            capture_output=True,
            text=True,
            cwd=TREE,
            env=environment,
            timeout=300,
        )
    )


def inject(folder: Path, calls: str, error: str, when: str) -> Any:
    """Run the writer while system calls fail as `when` says."""
    order = ["strace", "-f", "-o", "/dev/null", "-e", f"trace={calls}"]
    order += ["-e", f"inject={calls}:error={error}:when={when}"]
    order += [sys.executable, "-m", CHILD, "failing", str(folder)]
    environment = {**os.environ, "HOME": str(folder / "none")}
    return result(subprocess.run(order, capture_output=True, text=True, cwd=TREE, env=environment, timeout=300))


@pytest.fixture
def strace(tmp_path: Path) -> None:
    why = crash.traced(tmp_path)
    if why:
        pytest.skip(f"{why}: no system call can be made to fail")


def test_r5_a_disk_full_at_each_write(tmp_path: Path, tell: Tell) -> None:
    found = on_small_disk(tmp_path, "full")
    assert len(found) >= 5
    for each in found:
        assert each["warned"] and each["spoken"] <= 3, each
        assert not each["half"] and not each["damage"] and not each["moved"], each
        assert each["after"] == each["before"] + 4, each
        assert each["last"] == ["said", "job_named", "said", "scratched"], each
    tell(f"R5: full at {len(found)} places, warned and went on at each")


def test_r6_a_read_only_disk(tmp_path: Path) -> None:
    found = on_small_disk(tmp_path, "read_only")
    assert found["read"] == found["acknowledged"] > 0
    for name in ("a.job", "b.job"):
        code, told = found[name]
        assert code == Exit.NOT_WRITABLE
        assert name in told and "nothing was recorded" in told


@pytest.mark.usefixtures("strace")
def test_r6_a_disk_that_turns_read_only_under_a_session(tmp_path: Path) -> None:
    found = inject(tmp_path, "pwrite64", "EROFS", "20+")
    assert found["failed"] == "DiskFailed" and "a.job: nothing was recorded" in found["line"]
    assert found["moved"] == []
    assert len(read_job(tmp_path / "a.job").rows) == found["acknowledged"][-1][0] > 0


def test_r6_a_missing_folder(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="does not exist") as refused:
        begin_job(tmp_path / "none" / "a.job", ScriptedClock())
    assert refused.value.code is Exit.NOT_WRITABLE


def test_r6_the_folder_is_taken_away_under_a_session(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a card that is pulled out: the whole job goes on at home, from memory."""
    home, card = tmp_path / "home", tmp_path / "card"
    home.mkdir()
    card.mkdir()
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setattr(Path, "home", lambda: home)
    clock, moved = ScriptedClock(), []
    log = JobLog(begin_job(card / "a.job", clock), clock, moved.append)
    log.append([("a", "{}")])
    shutil.rmtree(card)
    assert log.append([("b", "{}")]) == 3
    log.close()
    assert moved == [home / "a-2.job"]
    assert [each.kind for each in read_job(home / "a-2.job").rows] == ["a", "carried_on", "b"]


@pytest.mark.usefixtures("strace")
def test_r7_one_failed_sync_begins_a_new_file(tmp_path: Path, nightly: bool, tell: Tell) -> None:
    """Wherever it fails: nothing more is acknowledged on that file, the new one holds all of it, and that is told."""
    # Positions 1 to 5 lie in laying out the file: it is not begun. Four appends of four syncs follow.
    places = range(1, 22) if nightly else (2, 6, 7, 8, 9, 14)
    moves = 0
    for place in places:
        folder = tmp_path / f"at{place}"
        folder.mkdir()
        found = inject(folder, SYNCS, "EIO", str(place))
        numbers = [number for number, _ in found["acknowledged"]]
        if "line" in found:
            assert place <= 5 and numbers == [] and found["moved"] == []
            continue
        assert len(numbers) == 4
        held_by(folder, found, place)
        moves += bool(found["moved"])
    assert moves >= 4
    tell(f"R7: EIO at {len(places)} syncs, {moves} new files, 0 acknowledged rows lost")


def held_by(folder: Path, found: dict[str, Any], place: int) -> None:
    """Every acknowledged row is in the file it was acknowledged in; the link names the old file's head."""
    files = list(dict.fromkeys(name for _, name in found["acknowledged"]))
    last = read_job(folder / (found["moved"] or ["a.job"])[-1])
    assert last.damage == "" and len(last.rows) == found["acknowledged"][-1][0], place
    assert found["moved"] in ([], ["a-2.job"])
    if not found["moved"]:
        return
    before = [number for number, name in found["acknowledged"] if name == "a.job"]
    count = before[-1] if before else 0
    link = decode(last.rows[count].kind, last.rows[count].payload)
    assert isinstance(link, CarriedOn)
    assert (link.file, link.rows) == ("a.job", count)
    assert link.head == (last.rows[count - 1].hash if count else link.head)
    old = read_job(folder / "a.job")
    assert old.rows[:count] == last.rows[:count]
    assert len(old.rows) in (count, count + 2), "nothing more on the old file than what was under way"
    assert files in (["a.job", "a-2.job"], ["a-2.job"])
    assert check_code(found["code"], last.rows).match is Match.FITS


@pytest.mark.usefixtures("strace")
def test_r7_a_disk_that_fails_for_good_ends_the_recording(tmp_path: Path) -> None:
    found = inject(tmp_path, SYNCS, "EIO", "10+")
    assert found["failed"] == "DiskFailed" and "a.job" in found["line"]
    assert found["moved"] == []
    acknowledged = found["acknowledged"][-1][0]
    assert len(read_job(tmp_path / "a.job").rows) in (acknowledged, acknowledged + 2)


def broken(path: Path) -> tuple[JobFile, JobLog, list[Path]]:
    clock, moved = ScriptedClock(), []
    job = begin_job(path, clock)
    log = JobLog(job, clock, moved.append)
    log.append([("a", "{}")])
    base_of(job).execute("PRAGMA query_only = ON")
    return job, log, moved


def test_r7_the_alarm_comes_before_the_acknowledgement_and_the_chain_goes_on(tmp_path: Path) -> None:
    _, log, moved = broken(tmp_path / "a.job")
    head = log.head
    assert log.append([("b", "{}")]) == 3
    assert moved == [tmp_path / "a-2.job"] == [log.path]
    assert list(log.rows())[1] == ("carried_on", f'{{"file":"a.job","head":"{head}","rows":1}}')
    log.close()
    again = resume_job(tmp_path / "a-2.job", ScriptedClock())
    assert [kind for kind, _ in again.rows()] == ["a", "carried_on", "b"]
    again.close()


def test_r7_the_old_file_is_not_gone_on_with(tmp_path: Path) -> None:
    """Resumed under its old name the job would fork; another job with a like name is none of its business."""
    _, log, _ = broken(tmp_path / "a.job")
    log.append([("b", "{}")])
    log.close()
    clock = ScriptedClock()
    with pytest.raises(Refusal, match=r"a\.job: went on in .*a-2\.job after a disk error; resume that one") as refused:
        JobLog(resume_job(tmp_path / "a.job", clock), clock, print)
    assert refused.value.code is Exit.BAD_JOB
    JobLog(resume_job(tmp_path / "a-2.job", clock), clock, print).close()
    (tmp_path / "a.job").unlink()
    begin = JobLog(begin_job(tmp_path / "a.job", clock), clock, print)
    begin.append([("z", "{}")])
    begin.close()
    JobLog(resume_job(tmp_path / "a.job", clock), clock, print).close()


def test_r7_where_the_place_beside_it_is_full_it_goes_on_at_home(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (home := tmp_path / "home").mkdir()
    monkeypatch.setattr(Path, "home", lambda: home)
    _, log, moved = broken(tmp_path / "a.job")
    tried: list[JobFile] = []

    def small(path: Path, clock: Any) -> JobFile:
        tried.append(begin_job(path, clock))
        if path.parent == tmp_path:
            base_of(tried[-1]).execute("PRAGMA max_page_count = 2")
        return tried[-1]

    monkeypatch.setattr("assistant.record.job_log.begin_job", small)
    assert log.append([("b", f'"{"x" * 9_000}"')]) == 3
    assert [each.path for each in tried] == [tmp_path / "a-2.job", home / "a-2.job"]
    assert moved == [home / "a-2.job"] == [log.path]
    with pytest.raises(sqlite3.ProgrammingError):
        base_of(tried[0]).execute("SELECT 1")
    log.close()
    assert [each.kind for each in read_job(home / "a-2.job").rows] == ["a", "carried_on", "b"]
    # What is left beside the old file could be resumed, without the link and without what was acknowledged at home.
    assert [each.name for each in tmp_path.glob("*.job*")] == ["a.job"]


def test_r7_rows_and_link_reach_the_new_file_all_or_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A power cut between them would leave two files of one job, and neither would know of the other."""
    _, log, _ = broken(tmp_path / "a.job")
    wrote: list[list[str]] = []
    write = JobFile.write

    def noted(job: JobFile, rows: Any) -> None:
        wrote.append([each.kind for each in rows])
        write(job, rows)

    monkeypatch.setattr(JobFile, "write", noted)
    log.append([("b", "{}")])
    log.close()
    assert wrote == [["b"], ["a", "carried_on", "b"]]


def test_r7_where_the_place_beside_it_cannot_even_be_looked_at_it_goes_on_at_home(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A dead card answers every name with an error, and pathlib passes that on."""
    (home := tmp_path / "home").mkdir()
    (card := tmp_path / "card").mkdir()
    monkeypatch.setattr(Path, "home", lambda: home)
    _, log, moved = broken(card / "a.job")
    stat, dead = Path.stat, [card]

    def of_a_dead_card(path: Path, **options: Any) -> os.stat_result:
        if path.parent in dead and path.name != "a.job":
            raise OSError(errno.EIO, "Input/output error", str(path))
        return stat(path, **options)

    monkeypatch.setattr(Path, "stat", of_a_dead_card)
    assert log.append([("b", "{}")]) == 3
    assert moved == [home / "a-2.job"] == [log.path]
    base_of(log._job).execute("PRAGMA query_only = ON")
    dead.append(home)
    with pytest.raises(DiskFailed, match=r"a-2\.job: .*nothing was recorded"):
        log.append([("c", "{}")])
    log.close()
    dead.clear()
    assert [each.kind for each in read_job(home / "a-2.job").rows] == ["a", "carried_on", "b"]


def test_r7_an_earlier_new_file_is_never_written_over(tmp_path: Path) -> None:
    (tmp_path / "a-2.job").write_text("something else")
    _, log, moved = broken(tmp_path / "a.job")
    log.append([("b", "{}")])
    log.close()
    assert moved == [tmp_path / "a-3.job"]
    assert (tmp_path / "a-2.job").read_text() == "something else"


def nowhere(path: Path, clock: object) -> JobFile:
    raise Refusal(Exit.NOT_WRITABLE, f"{path}: nowhere")


def test_r7_without_another_place_it_says_not_recording(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []
    clock, moved = ScriptedClock(), []
    job = begin_job(tmp_path / "a.job", clock)
    conversation = Conversation(
        JobLog(job, clock, moved.append), lambda wording, tone: said.append(wording.say), scenario.started()
    )
    base_of(job).execute("PRAGMA query_only = ON")
    monkeypatch.setattr("assistant.record.job_log.begin_job", nowhere)
    with pytest.raises(DiskFailed, match=r"a\.job: nothing was recorded"):
        conversation.take(Heard("job seven", Meaning("job", digits="7"), 1.0, 0.0, 1.0))
    assert said == ["The disk failed. Nothing more is recorded. Stop."]
    assert moved == [] and conversation.state.job == ""


def test_the_alarms_in_words() -> None:
    told = word(line("new_file", text="a-2.job"), System.IMPERIAL)
    assert told.say == "The disk failed. The job goes on in a new file."
    assert told.show == "The disk failed. The job goes on in a-2.job."
