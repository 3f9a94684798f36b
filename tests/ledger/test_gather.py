"""Which files are read, what is told of those that cannot be, and what is kept of an earlier reading."""

import os
import shutil
import sqlite3
import time
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pyarrow as pa
import pytest

from assistant.core import events as ev
from assistant.core.log_events import CarriedOn
from assistant.exits import Exit, Refusal
from assistant.ledger import gather as gathering
from assistant.ledger.asked import answered
from assistant.ledger.gather import gather
from assistant.ledger.kept import NAME, read_kept, write_kept
from assistant.ledger.made import write_job
from assistant.ledger.places import job_files
from assistant.ledger.tables import DIGEST, JOB_FIELDS, NESTED, PULL_FIELDS, joined, nested, pulls_of, unlike
from assistant.ledger.twice import counted_once
from assistant.ledger.worker import read_one
from assistant.record.job_file import begin_job
from tests.ledger.yard import BEGUN, die, facts, talks, write_jobs
from tests.record.scenario import ScriptedClock
from tests.record.test_job_file import tamper


def states(folder: Path) -> dict[str, str]:
    table = joined(gather(folder, job_files(folder)))
    return dict(zip(table.column("file").to_pylist(), table.column("state").to_pylist(), strict=True))


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    """A folder of one sound job and one of every other kind."""
    folder = tmp_path / "jobs"
    write_jobs(folder, 1)
    write_job(folder / "open.job", talks()[0][:150], BEGUN)
    tamper(write_job(folder / "damaged.job", talks()[0], BEGUN), "UPDATE rows SET payload = '{}' WHERE seq = 50")
    tamper(write_job(folder / "newer.job", talks()[0], BEGUN), "PRAGMA user_version = 9")
    (folder / "empty.job").touch()
    begin_job(folder / "blank.job", ScriptedClock()).close()
    (folder / "text.job").write_text("no job\n" * 900)
    (folder / "half.job").write_bytes((folder / "000.job").read_bytes()[:20_000])
    sqlite3.connect(folder / "other.job").execute("CREATE TABLE t (x)").connection.close()
    os.mkfifo(folder / "pipe.job")
    (tmp_path / "outside").mkdir()
    write_jobs(tmp_path / "outside", 1)
    (folder / "link.job").symlink_to(tmp_path / "outside" / "000.job")
    (folder / "way out").symlink_to(tmp_path / "outside")
    return folder


STATES = {
    "000.job": "closed",
    "blank.job": "empty",
    "damaged.job": "damaged",
    "empty.job": "empty",
    "half.job": "unreadable",
    "link.job": "unreadable",
    "newer.job": "newer",
    "open.job": "not closed",
    "other.job": "unreadable",
    "pipe.job": "unreadable",
    "text.job": "unreadable",
}


def test_every_kind_of_file_is_listed_and_nothing_outside_is(bad: Path) -> None:
    assert states(bad) == STATES


def test_what_could_be_read_is_told(bad: Path) -> None:
    job, pulls = facts(bad / "damaged.job")
    assert job.rows == 49 and job.trouble.startswith("row 50 was changed or damaged") and pulls
    assert "newer pullcall (format 9)" in facts(bad / "newer.job")[0].trouble
    assert (
        facts(bad / "text.job")[0].trouble == "not a job file, or damaged at its beginning; give a file pullcall wrote"
    )
    assert "not followed" in facts(bad / "link.job")[0].trouble
    assert facts(bad / "pipe.job")[0].trouble == "cannot be read (is no file)"


@pytest.mark.parametrize(
    ("most", "told"), [("MOST_BYTES", "bytes; a job has at most"), ("MOST_ROWS", "rows; a job has")]
)
def test_a_job_beyond_all_measure_is_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, most: str, told: str
) -> None:
    path = write_jobs(tmp_path, 1)[0]
    monkeypatch.setattr(f"assistant.record.schema.{most}", 150)
    job, pulls = facts(path)
    assert (job.state, job.rows, pulls) == ("unreadable", 0, ()) and told in job.trouble


def test_a_job_that_a_session_holds_is_in_use(tmp_path: Path) -> None:
    path = tmp_path / "held.job"
    job = begin_job(path, ScriptedClock())
    job.append([("paused", "{}")])
    digest, (found, _) = read_one(str(path), "held.job")
    assert found.state == "in use" and digest == "" and "another pullcall has this job open" in found.trouble
    job.close()
    assert facts(path)[0].state == "not closed"


def test_a_held_job_that_only_the_careful_reading_knows_is_not_kept_as_in_use(tmp_path: Path) -> None:
    path = write_job(tmp_path / "held.job", [*talks()[0], ev.Scratched(), ev.Hooked(None)], BEGUN)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")  # no journal beside it yet
        digest, (found, _) = read_one(str(path), "held.job")
        assert (digest, found.state) == ("", "in use")
    digest, (found, _) = read_one(str(path), "held.job")
    assert digest and found.state == "not closed"


def test_folders_below_are_read_and_names_are_text(tmp_path: Path) -> None:
    write_jobs(tmp_path / "north" / "march", 2)
    shutil.copy(tmp_path / "north" / "march" / "000.job", os.fsencode(tmp_path) + b"/odd\xff.job")
    assert list(states(tmp_path)) == ["north/march/000.job", "north/march/001.job", "odd\\xff.job"]


def test_no_folder_and_no_jobs(tmp_path: Path) -> None:
    for folder, told in ((tmp_path / "none", "no such folder"), (tmp_path, "no job file in this folder or below")):
        with pytest.raises(Refusal, match=told) as refused:
            job_files(folder)
        assert refused.value.code is Exit.BAD_JOB


def test_several_processes_read_to_the_same_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_jobs(tmp_path, 12)
    alone = joined(gather(tmp_path, job_files(tmp_path)))
    monkeypatch.setattr(gathering, "FEW", 4)
    monkeypatch.setattr(gathering, "_CHUNK", 3)
    parts = list(gather(tmp_path, job_files(tmp_path)))
    assert len(parts) == 4 and joined(parts).equals(alone)


def test_a_reading_process_that_is_ended_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_jobs(tmp_path, 6)
    monkeypatch.setattr(gathering, "FEW", 4)
    monkeypatch.setattr(gathering, "read_some", die)
    with pytest.raises(Refusal, match="was ended from outside") as refused:
        list(gather(tmp_path, job_files(tmp_path)))
    assert refused.value.code is Exit.STOPPED


# --- At first sight ---------------------------------------------------------------------------------------------


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """A dozen files as if they were thousands."""
    for name, value in (("FEW", 4), ("MANY", 8), ("_CHUNK", 3)):
        monkeypatch.setattr(gathering, name, value)


SOON = 600.0
"""However busy the machine."""


def test_sound_files_are_at_first_sight_what_they_are(tmp_path: Path, small: None) -> None:
    write_jobs(tmp_path, 12)
    with gathering.gathering(tmp_path, job_files(tmp_path), first=True) as files:
        assert files.many
        first = joined(files.glanced(time.monotonic() + SOON))
        whole = joined(files.read())
    assert first.num_rows == 12 and first.drop([DIGEST]).equals(whole.drop([DIGEST]))
    assert set(first.column(DIGEST).to_pylist()) == {""}, "nothing unchecked may be kept"
    assert whole.equals(joined(gather(tmp_path, job_files(tmp_path)))) and unlike(first, whole) == []


def test_damage_that_first_sight_misses_is_named_afterwards(bad: Path, small: None) -> None:
    tamper(write_job(bad / "changed.job", talks()[0], BEGUN), "UPDATE rows SET wall = '2020' WHERE seq = 7")
    with gathering.gathering(bad, job_files(bad), first=True) as files:
        first = joined(files.glanced(time.monotonic() + SOON))
        whole = joined(files.read())
    seen = dict(zip(first.column("file").to_pylist(), first.column("state").to_pylist(), strict=True))
    later = dict(zip(whole.column("file").to_pylist(), whole.column("state").to_pylist(), strict=True))
    assert (seen.pop("changed.job"), later.pop("changed.job")) == ("closed", "damaged")
    assert seen == later == STATES and unlike(first, whole) == ["changed.job"]


def test_when_time_is_up_first_sight_is_of_some_and_the_rest_is_read_all_the_same(tmp_path: Path, small: None) -> None:
    write_jobs(tmp_path, 12)
    (tmp_path / "text.job").write_text("no job")
    with gathering.gathering(tmp_path, job_files(tmp_path), first=True) as files:
        first = joined(files.glanced(time.monotonic()))
        whole = joined(files.read())
    assert first.num_rows < 13 and whole.num_rows == len(set(whole.column("file").to_pylist())) == 13


def test_what_is_known_is_not_looked_at_again(tmp_path: Path, small: None) -> None:
    paths = write_jobs(tmp_path, 20)
    for each in paths[11:]:
        each.rename(each.with_suffix(".away"))
    keep(tmp_path)
    for each in paths[11:]:
        each.with_suffix(".away").rename(each)
    with gathering.gathering(tmp_path, job_files(tmp_path), first=True) as files:
        known, *parts = files.glanced(time.monotonic() + SOON)
        assert known.num_rows == 11 and not files.all_known
        assert joined([known, *parts]).num_rows == joined(files.read()).num_rows == 20


def test_few_files_are_read_at_once(tmp_path: Path) -> None:
    write_jobs(tmp_path, 3)
    with gathering.gathering(tmp_path, job_files(tmp_path), first=True) as files:
        assert not files.many and joined(files.read()).num_rows == 3


# --- What is kept -----------------------------------------------------------------------------------------------


def keep(folder: Path) -> pa.Table:
    table = joined(gather(folder, job_files(folder)))
    assert write_kept(folder, table) == ""
    return table


def test_kept_rows_are_the_rows_and_need_no_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_jobs(tmp_path, 5)
    table = keep(tmp_path)
    monkeypatch.setattr(gathering, "read_some", lambda places: pytest.fail(f"read again: {places}"))
    assert joined(gather(tmp_path, job_files(tmp_path))).equals(table)


def test_a_file_that_changed_by_one_byte_is_read_again(tmp_path: Path) -> None:
    paths = write_jobs(tmp_path, 3)
    keep(tmp_path)
    before = paths[1].stat()
    data = bytearray(paths[1].read_bytes())
    at = data.index(b'"text":"hooked"')
    data[at + 8] ^= 1
    paths[1].write_bytes(data)
    os.utime(paths[1], ns=(before.st_atime_ns, before.st_mtime_ns))
    assert list(states(tmp_path).values()) == ["closed", "damaged", "closed"]


def test_a_renamed_or_removed_file_keeps_no_old_name(tmp_path: Path) -> None:
    paths = write_jobs(tmp_path, 3)
    keep(tmp_path)
    paths[0].rename(tmp_path / "zz.job")
    paths[1].unlink()
    assert list(states(tmp_path)) == ["002.job", "zz.job"]


def test_afresh_believes_nothing_kept(tmp_path: Path) -> None:
    write_jobs(tmp_path, 2)
    forged = keep(tmp_path)
    forged = forged.set_column(forged.schema.get_field_index("crew"), "crew", pa.array(["Forged"] * 2))
    write_kept(tmp_path, forged)
    places = job_files(tmp_path)
    assert set(joined(gather(tmp_path, places)).column("crew").to_pylist()) == {"Forged"}
    assert "Forged" not in joined(gather(tmp_path, places, afresh=True)).column("crew").to_pylist()


def test_a_kept_file_that_is_none_is_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_jobs(tmp_path, 2)
    table = keep(tmp_path)
    assert read_kept(tmp_path).equals(table)
    monkeypatch.setattr("assistant.ledger.kept._LAYOUT", b"1, pullcall of another day")
    assert read_kept(tmp_path).num_rows == 0
    (tmp_path / NAME).write_bytes(b"PAR1 no more")
    assert read_kept(tmp_path).num_rows == 0
    assert list(states(tmp_path).values()) == ["closed", "closed"]


def test_nothing_is_kept_through_a_link_or_of_a_file_in_use(tmp_path: Path) -> None:
    write_jobs(tmp_path, 1)
    mine = tmp_path / "mine"
    mine.write_text("mine")
    (tmp_path / NAME).symlink_to(mine)
    table = joined(gather(tmp_path, job_files(tmp_path)))
    assert "is a link" in write_kept(tmp_path, table) and mine.read_text() == "mine"
    assert read_kept(tmp_path).num_rows == 0
    (tmp_path / NAME).unlink()
    write_kept(tmp_path, table.set_column(0, "digest", pa.array([""])))
    assert read_kept(tmp_path).num_rows == 0
    assert "none/" in write_kept(tmp_path / "none", table)
    assert sorted(each.name for each in tmp_path.iterdir()) == [NAME, "000.job", "mine"]


# --- Twice the same ---------------------------------------------------------------------------------------------


def test_a_copy_and_a_file_that_went_on_in_another_count_once(tmp_path: Path) -> None:
    write_jobs(tmp_path, 1)
    shutil.copy(tmp_path / "000.job", tmp_path / "001.job")
    (tmp_path / "below").mkdir()
    write_job(tmp_path / "below" / "a.job", talks()[1][:120], BEGUN)
    carried = CarriedOn("a.job", 120, "0" * 64)
    write_job(tmp_path / "below" / "a-2.job", [*talks()[1][:120], carried, *talks()[1][120:], ev.JobFinished()], BEGUN)
    tamper(write_job(tmp_path / "d.job", talks()[2], BEGUN), "UPDATE rows SET payload = '{}' WHERE seq = 90")
    shutil.copy(tmp_path / "d.job", tmp_path / "e.job")
    table = joined(gather(tmp_path, job_files(tmp_path)))
    assert set(table.column("state").to_pylist()) == {"closed", "not closed", "damaged"}
    once = counted_once(table)
    assert once.schema.equals(NESTED)
    columns = (once.column(each).to_pylist() for each in ("file", "state", "trouble"))
    found = {file: (state, trouble) for file, state, trouble in zip(*columns, strict=True)}
    assert found["001.job"] == ("copy", "the same, byte for byte, as 000.job")
    assert found["below/a.job"] == ("carried on", "went on in below/a-2.job after a disk error")
    assert [found[each][0] for each in ("000.job", "below/a-2.job")] == ["closed", "closed"]
    assert [found[each][0] for each in ("d.job", "e.job")] == ["damaged", "damaged"]
    answers = answered(once, practice=False)
    assert {each["file"] for each in answers.second_look if each["reason"] == "unread"} == {"d.job", "e.job"}
    undigested = table.set_column(0, "digest", pa.array([""] * table.num_rows))
    assert "copy" not in counted_once(undigested).column("state").to_pylist()
    assert answers.totals == {"files": 6, "counted": 2, "practice": 0, "twice": 2, "unread": 2, "not_closed": 0}


def test_what_went_on_in_a_file_that_cannot_be_read_or_is_another_job_still_counts(tmp_path: Path) -> None:
    """Else it would be counted nowhere. The name alone proves nothing: a new job may stand where the old file was."""
    carried = CarriedOn("a.job", 120, "0" * 64)
    went_on = [*talks()[1][:120], carried, *talks()[1][120:]]
    for first, second, begun, other in (("bad", "bad", 0, 0), ("other", "other", 1, 2), ("card", "home", 3, 3)):
        for folder, name, told, day in ((first, "a.job", talks()[1][:120], begun), (second, "a-2.job", went_on, other)):
            (tmp_path / folder).mkdir(exist_ok=True)
            write_job(tmp_path / folder / name, told, BEGUN + timedelta(days=day))
    tamper(tmp_path / "bad" / "a-2.job", "UPDATE rows SET payload = '{}' WHERE seq = 130")
    once = counted_once(joined(gather(tmp_path, job_files(tmp_path))))
    found = dict(zip(once.column("file").to_pylist(), once.column("state").to_pylist(), strict=True))
    assert (found["bad/a.job"], found["bad/a-2.job"]) == ("not closed", "damaged")
    assert (found["other/a.job"], found["other/a-2.job"]) == ("not closed", "closed")
    assert (found["card/a.job"], found["home/a-2.job"]) == ("carried on", "closed"), "the card failed"


# --- The tables -------------------------------------------------------------------------------------------------


def test_nested_and_flat_tables_hold_the_same_facts(tmp_path: Path) -> None:
    entries = [read_one(str(path), path.name) for path in write_jobs(tmp_path, 3)]
    (tmp_path / "003.job").touch()
    entries.append(read_one(str(tmp_path / "003.job"), "003.job"))
    table = nested(entries)
    assert table.schema.equals(NESTED)
    flat = pulls_of(table)
    expected = [(job.file, pull.number, pull.percent) for _, (job, pulls) in entries for pull in pulls]
    assert (
        list(zip(*(flat.column(each).to_pylist() for each in ("file", "number", "percent")), strict=True)) == expected
    )
    assert pulls_of(NESTED.empty_table()).num_rows == 0
    assert {each.name for each in JOB_FIELDS} & {each.name for each in PULL_FIELDS} == {
        "bites",
        "fall_back",
        "mark",
        "skipped",
    }


def test_half_a_sign_in_a_name_becomes_a_whole_one(tmp_path: Path) -> None:
    path = write_jobs(tmp_path, 1)[0]
    digest, (job, pulls) = read_one(str(path), "a\ud800.job")
    assert nested([(digest, (job, pulls))]).column("file").to_pylist() == ["a?.job"]
