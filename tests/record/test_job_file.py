"""What the job file promises: durable before acknowledged, only growing, one run at a time, damage found and placed."""

import random
import shutil
import sqlite3
from pathlib import Path
from typing import cast

import pytest

from assistant.core.fold import fold
from assistant.exits import Exit, Refusal
from assistant.record import schema
from assistant.record.chain import START, first_break
from assistant.record.codec import decode
from assistant.record.job_file import JobFile, _open, begin_job, resume_job
from assistant.record.reading import _scan_copy, read_job
from tests.record import scenario
from tests.record.scenario import ScriptedClock


def refused(path: Path, code: Exit) -> str:
    with pytest.raises(Refusal) as found:
        resume_job(path, ScriptedClock())
    assert found.value.code is code
    assert "\n" not in found.value.line
    assert str(path) in found.value.line
    return found.value.line


def three_rows(path: Path) -> Path:
    job = begin_job(path, ScriptedClock())
    job.append([("a", "{}"), ("b", "{}"), ("c", "{}")])
    job.close()
    return path


def tamper(path: Path, *statements: str) -> None:
    """As someone would who owns the file: the triggers are no lock."""
    base = sqlite3.connect(path)
    for name in ("rows_no_update", "rows_no_delete", "rows_next_only"):
        (sql,) = base.execute("SELECT sql FROM sqlite_master WHERE name = ?", (name,)).fetchone()
        statements = (f"DROP TRIGGER {name}", *statements, sql)
    for each in statements:
        base.execute(each)
    base.commit()
    base.close()


def base_of(job: JobFile) -> sqlite3.Connection:
    return job._base


def test_every_commit_is_synced(tmp_path: Path) -> None:
    job = begin_job(tmp_path / "a.job", ScriptedClock())
    assert base_of(job).execute("PRAGMA synchronous").fetchone() == (2,)
    assert base_of(job).execute("PRAGMA locking_mode").fetchone() == ("exclusive",)
    assert base_of(job).execute("PRAGMA journal_mode").fetchone() == ("delete",)
    job.close()
    again = resume_job(tmp_path / "a.job", ScriptedClock())
    assert base_of(again).execute("PRAGMA synchronous").fetchone() == (2,)
    again.close()


def test_one_file_after_close(tmp_path: Path) -> None:
    three_rows(tmp_path / "a.job")
    assert [each.name for each in tmp_path.iterdir()] == ["a.job"]


def test_marked_as_a_job_file(tmp_path: Path) -> None:
    base = sqlite3.connect(three_rows(tmp_path / "a.job"))
    assert base.execute("PRAGMA application_id").fetchone() == (0x50554C4C,)
    assert base.execute("PRAGMA user_version").fetchone() == (1,)
    base.close()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE rows SET kind = 'z' WHERE seq = 2",
        "DELETE FROM rows WHERE seq = 3",
        "INSERT OR REPLACE INTO rows SELECT 1, wall, monotonic_ms, 'z', payload, hash FROM rows WHERE seq = 1",
        "INSERT INTO rows SELECT 9, wall, monotonic_ms, kind, payload, hash FROM rows WHERE seq = 1",
    ],
)
def test_the_file_itself_refuses_to_change(tmp_path: Path, statement: str) -> None:
    base = sqlite3.connect(three_rows(tmp_path / "a.job"))
    with pytest.raises(sqlite3.IntegrityError, match="a job file only grows"):
        base.execute(statement)
    base.close()


def test_rows_carry_both_clocks_and_a_chain(tmp_path: Path) -> None:
    clock = ScriptedClock()
    job = begin_job(tmp_path / "a.job", clock)
    assert job.head == START
    job.append([("a", "{}")])
    clock.pass_by(1.5)
    job.append([("b", "{}")])
    rows = job.history()
    job.close()
    assert [each.wall for each in rows] == ["2026-03-17T08:05:00.000+01:00", "2026-03-17T08:05:01.500+01:00"]
    assert [each.monotonic_ms for each in rows] == [5000, 6500]
    assert first_break(rows) is None
    assert job.head == rows[-1].hash


def test_a_resumed_job_stands_where_it_was_left(tmp_path: Path) -> None:
    path = scenario.write(tmp_path / "0427.job", scenario.whole()[:40])
    job = resume_job(path, ScriptedClock())
    state = fold(decode(*row) for row in job.rows())
    job.close()
    assert state == fold(scenario.events(scenario.whole()[:40]))
    assert read_job(path).rows == scenario.rows(scenario.whole()[:40])


def test_missing(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "none.job", Exit.BAD_JOB)
    assert not (tmp_path / "none.job").exists()


def test_a_folder(tmp_path: Path) -> None:
    assert "a folder" in refused(tmp_path, Exit.BAD_JOB)


@pytest.mark.parametrize("content", [b"hello, this is no job file at all" * 40, b"\0" * 4096, b"x"])
def test_foreign(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.job"
    path.write_bytes(content)
    assert "not a job file" in refused(path, Exit.BAD_JOB)
    assert path.read_bytes() == content


def test_someone_elses_database(tmp_path: Path) -> None:
    base = sqlite3.connect(tmp_path / "a.job")
    base.execute("CREATE TABLE things (a)")
    base.commit()
    base.close()
    before = (tmp_path / "a.job").read_bytes()
    assert "not a job file" in refused(tmp_path / "a.job", Exit.BAD_JOB)
    assert (tmp_path / "a.job").read_bytes() == before


def test_an_empty_file_is_a_job_just_begun(tmp_path: Path) -> None:
    (tmp_path / "a.job").touch()
    job = resume_job(tmp_path / "a.job", ScriptedClock())
    assert job.append([("a", "{}")]) == 1
    job.close()


def test_a_new_job_never_overwrites(tmp_path: Path) -> None:
    path = three_rows(tmp_path / "a.job")
    for taken in (path, tmp_path):
        with pytest.raises(Refusal, match="exists already") as found:
            begin_job(taken, ScriptedClock())
        assert found.value.code is Exit.BAD_JOB


def test_a_missing_folder(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="does not exist") as found:
        begin_job(tmp_path / "no" / "a.job", ScriptedClock())
    assert found.value.code is Exit.NOT_WRITABLE


def test_a_newer_file_is_read_but_not_written(tmp_path: Path) -> None:
    path = three_rows(tmp_path / "a.job")
    base = sqlite3.connect(path)
    base.execute("PRAGMA user_version = 2")
    base.close()
    assert "newer pullcall (format 2)" in refused(path, Exit.BAD_JOB)
    assert len(read_job(path).rows) == 3
    assert read_job(path).newer


DAMAGE = [
    ("UPDATE rows SET payload = '{\"x\":1}' WHERE seq = 2", "row 2 was changed or damaged", 1),
    ("UPDATE rows SET wall = '2020-01-01T00:00:00.000+00:00' WHERE seq = 3", "row 3 was changed", 2),
    ("UPDATE rows SET monotonic_ms = 1 WHERE seq = 1", "row 1 was changed", 0),
    ("DELETE FROM rows WHERE seq = 2", "row 2 is missing", 1),
    ("UPDATE rows SET payload = CAST(x'FF' AS TEXT) WHERE seq = 2", "row 2", 1),
    ("UPDATE rows SET payload = x'7B7D' WHERE seq = 3", "row 3 was changed", 2),
]


@pytest.mark.parametrize(("statement", "told", "readable"), DAMAGE)
def test_damage_is_named_with_its_place(tmp_path: Path, statement: str, told: str, readable: int) -> None:
    path = three_rows(tmp_path / "a.job")
    tamper(path, statement)
    line = refused(path, Exit.BAD_JOB)
    reading = read_job(path)
    assert told in reading.damage
    assert len(reading.rows) == readable
    assert "damaged" in line and "review" in line


def test_a_line_says_what_is_still_readable(tmp_path: Path) -> None:
    path = three_rows(tmp_path / "a.job")
    tamper(path, "DELETE FROM rows WHERE seq = 2")
    assert "rows 1 to 1 can still be read" in refused(path, Exit.BAD_JOB)
    other = three_rows(tmp_path / "b.job")
    tamper(other, "UPDATE rows SET kind = 'z' WHERE seq = 1")
    assert "no row can be trusted" in refused(other, Exit.BAD_JOB)


def test_the_tail_cut_off_is_not_found_by_the_chain_alone(tmp_path: Path) -> None:
    """Said plainly in the report; the job code finds it (test_code)."""
    path = three_rows(tmp_path / "a.job")
    tamper(path, "DELETE FROM rows WHERE seq = 3")
    assert read_job(path).damage == "" and len(read_job(path).rows) == 2


def test_a_lost_trigger_is_damage(tmp_path: Path) -> None:
    path = three_rows(tmp_path / "a.job")
    base = sqlite3.connect(path)
    base.execute("DROP TRIGGER rows_no_delete")
    base.commit()
    base.close()
    assert "layout" in refused(path, Exit.BAD_JOB)
    assert "layout" in read_job(path).damage and len(read_job(path).rows) == 3


def test_every_cut_and_many_flips_are_refused_or_harmless(tmp_path: Path) -> None:
    """No traceback, no invented row: what is read is a beginning of what was written."""
    whole = three_rows(tmp_path / "a.job").read_bytes()
    written = read_job(tmp_path / "a.job").rows
    chance = random.Random(7)
    broken = [whole[:at] for at in range(0, len(whole), 97)]
    for _ in range(200):
        at, bit = chance.randrange(len(whole)), chance.randrange(8)
        broken.append(whole[:at] + bytes([whole[at] ^ (1 << bit)]) + whole[at + 1 :])
    found = 0
    for number, content in enumerate(broken):
        path = tmp_path / f"broken{number}.job"
        path.write_bytes(content)
        try:
            reading = read_job(path)
        except Refusal as error:
            assert error.code is Exit.BAD_JOB
            found += 1
            continue
        assert reading.rows == written[: len(reading.rows)]
        found += bool(reading.damage)
    assert found > len(broken) // 3


def test_a_session_keeps_readers_out_and_lets_them_in_again(tmp_path: Path) -> None:
    job = begin_job(tmp_path / "a.job", ScriptedClock())
    job.append([("a", "{}")])
    with pytest.raises(Refusal, match="another pullcall") as found:
        read_job(tmp_path / "a.job")
    assert found.value.code is Exit.JOB_BUSY
    job.close()
    assert len(read_job(tmp_path / "a.job").rows) == 1


def test_a_full_disk_is_told_and_the_job_goes_on(tmp_path: Path) -> None:
    """SQLite's own page limit answers SQLITE_FULL, as a full disk does."""
    job = begin_job(tmp_path / "a.job", ScriptedClock())
    job.append([("a", "{}")])
    pages = schema.pragma(base_of(job), "page_count")
    base_of(job).execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(Refusal, match="disk is full") as found:
        job.append([("b", "{}"), ("c", "x" * 100_000)])
    assert found.value.code is Exit.NOT_WRITABLE
    assert list(job.rows()) == [("a", "{}")]
    base_of(job).execute("PRAGMA max_page_count = 100000")
    assert job.append([("b", "{}")]) == 2
    job.close()
    assert [each.kind for each in read_job(tmp_path / "a.job").rows] == ["a", "b"]


def test_after_another_disk_error_nothing_more_is_acknowledged(tmp_path: Path) -> None:
    job = begin_job(tmp_path / "a.job", ScriptedClock())
    job.append([("a", "{}")])
    base_of(job).execute("PRAGMA query_only = ON")
    with pytest.raises(Refusal, match="nothing was recorded") as found:
        job.append([("b", "{}")])
    assert found.value.code is Exit.NOT_WRITABLE
    base_of(job).execute("PRAGMA query_only = OFF")
    with pytest.raises(Refusal, match="go on in a new job file"):
        job.append([("c", "{}")])
    job.close()
    assert [each.kind for each in read_job(tmp_path / "a.job").rows] == ["a"]


class Failing:
    """A connection on a disk that has gone."""

    in_transaction = True

    def execute(self, statement: str, values: object = ()) -> None:
        if statement != "BEGIN IMMEDIATE":
            raise sqlite3.OperationalError(f"disk I/O error: {statement}")

    def close(self) -> None:
        self.closed = True


def test_a_disk_that_has_gone_neither_acknowledges_nor_crashes(tmp_path: Path) -> None:
    base = Failing()
    job = JobFile(cast(sqlite3.Connection, base), tmp_path / "a.job", ScriptedClock(), (0, START))
    with pytest.raises(Refusal):
        job.append([("a", "{}")])
    with pytest.raises(Refusal, match="go on in a new job file"):
        job.append([("a", "{}")])
    job.close()
    assert base.closed


def test_reading_a_copy(tmp_path: Path) -> None:
    assert _scan_copy(three_rows(tmp_path / "a.job"), [].append, schema.must_fit).count == 3
    with pytest.raises(Refusal, match="cannot be copied") as found:
        _scan_copy(tmp_path / "none.job", [].append, schema.must_fit)
    assert found.value.code is Exit.NOT_WRITABLE
    (tmp_path / "text.job").write_text("not a job\n" * 900)
    with pytest.raises(Refusal, match="not a job file"):
        _scan_copy(tmp_path / "text.job", [].append, schema.must_fit)


def test_reading_someone_elses_database(tmp_path: Path) -> None:
    base = sqlite3.connect(tmp_path / "a.job")
    base.execute("CREATE TABLE things (a)")
    base.commit()
    base.close()
    with pytest.raises(Refusal, match="not a job file"):
        read_job(tmp_path / "a.job")


def test_a_read_only_place_is_told(tmp_path: Path) -> None:
    """The tests may run as root, for whom no mode bit counts: a read-only bind mount, or the system's own."""
    place = Path("/proc/self")
    if not place.is_dir():
        pytest.skip("no /proc: there is no read-only folder here that root cannot write")
    with pytest.raises(Refusal) as found:
        begin_job(place / "a.job", ScriptedClock())
    assert found.value.code is Exit.NOT_WRITABLE


def test_a_file_that_can_only_be_read_is_not_resumed(tmp_path: Path) -> None:
    """As on a read-only disk, where SQLite quietly opens for reading."""
    path = three_rows(tmp_path / "a.job")
    with pytest.raises(Refusal, match="nothing was recorded") as found:
        _open(path, ScriptedClock(), "ro")
    assert found.value.code is Exit.NOT_WRITABLE


def test_resuming_alone_changes_nothing(tmp_path: Path) -> None:
    path = three_rows(tmp_path / "a.job")
    before = path.read_bytes()
    resume_job(path, ScriptedClock()).close()
    assert path.read_bytes() == before


def test_an_unfinished_write_is_rolled_back_on_a_copy_for_reading(tmp_path: Path) -> None:
    """A hot journal beside the file, as a power cut leaves it; the file itself stays untouched by reading."""
    path = three_rows(tmp_path / "a.job")
    base = sqlite3.connect(path, isolation_level=None)
    base.execute("PRAGMA cache_size = 1")
    base.execute("PRAGMA cache_spill = 1")
    base.execute("BEGIN")
    for seq in range(4, 400):
        base.execute(
            "INSERT INTO rows SELECT ?, wall, monotonic_ms, kind, ?, hash FROM rows WHERE seq = 1", (seq, "x" * 400)
        )
    cut = tmp_path / "cut.job"
    shutil.copyfile(path, cut)
    shutil.copyfile(f"{path}-journal", f"{cut}-journal")
    base.execute("ROLLBACK")
    base.close()
    before = cut.read_bytes()
    assert before != path.read_bytes()
    assert [each.kind for each in read_job(cut).rows] == ["a", "b", "c"]
    assert cut.read_bytes() == before
    job = resume_job(cut, ScriptedClock())
    assert job.append([("d", "{}")]) == 4
    job.close()
