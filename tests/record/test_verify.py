"""`pullcall verify`: what a job file proves, what it does not, and every kind of file that is not one."""

import json
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.core import events as ev
from assistant.core.log_events import CarriedOn
from assistant.exits import Exit, Refusal
from assistant.record import schema
from assistant.record.audit import MOST_CLOSES, MOST_TOLD, Audit
from assistant.record.chain import START, chained
from assistant.record.code import Match, check_code, code_of, job_code
from assistant.record.codec import encode
from assistant.record.job_file import begin_job, resume_job
from assistant.record.job_log import JobLog
from assistant.record.reading import read_job
from assistant.record.review import review
from assistant.record.verify import PROVES, verify
from tests.record import scenario
from tests.record.scenario import ScriptedClock
from tests.record.test_job_file import tamper

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return scenario.write(tmp_path / "0427.job")


def test_a_whole_job(job: Path) -> None:
    before = job.read_bytes()
    found = verify(job)
    assert found.exit is Exit.DONE
    lines = found.as_text().splitlines()
    code = job_code(scenario.rows())
    assert lines[0] == f"file       {job}: {len(scenario.rows())} rows"
    for told in (
        "rows       every row fits the one before it",
        f"code       {code}",
        "session    row 1, 2026-03-17 08:05: pullcall 0.1.0, speech model en-small sha256:1f0c",
        "gap        15 min 00 s before row 83, within a session",
        "gap        1 h 00 min before row 151, between two sessions",
    ):
        assert told in lines
    assert all(any(each in line for line in lines) for each in PROVES)
    assert "given" not in found.as_text()
    assert job.read_bytes() == before


def test_the_gaps_name_the_rows_after_them(job: Path) -> None:
    gaps = verify(job).audit.gaps
    kinds = {row.seq: row.kind for row in scenario.rows()}
    assert [(kinds[each.row], each.seconds, each.stopped) for each in gaps] == [
        ("said", 900.0, False),
        ("started", 3600.0, True),
    ]


def test_a_code_kept_elsewhere(job: Path) -> None:
    code = job_code(scenario.rows())
    fits = verify(job, code)
    assert (fits.match, fits.exit) == (Match.FITS, Exit.DONE)
    assert "proves: with the code kept elsewhere" in fits.as_text()
    more = resume_job(job, ScriptedClock())
    more.append([encode(ev.Paused())])
    more.close()
    assert (verify(job, code).match, verify(job, code).exit) == (Match.LONGER, Exit.DONE)
    tamper(job, "DELETE FROM rows WHERE seq > 100")
    cut = verify(job, code)
    assert (cut.match, cut.exit, cut.consistent) == (Match.DIFFERS, Exit.FINDINGS, True)
    assert "given      does not fit" in cut.as_text()
    assert "(so far: the job was not closed)" in cut.as_text()


def test_a_mistyped_code_is_no_wrong_code(job: Path, capsys: Capture) -> None:
    assert main(["verify", str(job), "--code", "maple"]) == Exit.USAGE
    assert "job code" in capsys.readouterr().err


def test_damage_inside(job: Path) -> None:
    tamper(job, "UPDATE rows SET kind = 'z' WHERE seq = 50")
    found = verify(job, job_code(scenario.rows()))
    assert found.exit is Exit.FINDINGS and not found.consistent
    text = found.as_text()
    assert "DAMAGE     row 50 was changed" in text and "rests on the 49 rows before" in text
    assert "given      cannot be checked: the file is damaged" in text
    assert "proves: the rows fit" not in text and PROVES[1] in text
    assert not [line for line in text.splitlines() if line.startswith("code ")]


def test_rows_that_are_no_events(tmp_path: Path) -> None:
    """Written by something else with a whole chain: told, by row, and only the first of very many."""
    job = begin_job(tmp_path / "a.job", ScriptedClock())
    job.append([("job_named", "{}")] * (MOST_TOLD + 5))
    job.close()
    found = verify(tmp_path / "a.job")
    assert found.exit is Exit.FINDINGS and len(found.audit.strange) == MOST_TOLD
    assert "DAMAGE     row 1 (job_named): field 'digits' is missing" in found.as_text()
    assert "session    none is recorded" in found.as_text()


def test_a_newer_file_and_kinds_nobody_knows(job: Path) -> None:
    more = resume_job(job, ScriptedClock())
    more.append([("carpet_sung", "{}")])
    more.close()
    assert "1 of kinds this version does not know" in verify(job).as_text() and verify(job).exit is Exit.DONE
    base = sqlite3.connect(job)
    base.execute("PRAGMA user_version = 9")
    base.close()
    found = verify(job)
    assert found.exit is Exit.FINDINGS
    assert "NEWER      written by a newer pullcall (format 9)" in found.as_text()


def test_empty_half_foreign_and_missing(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "empty.job").touch()
    begin_job(tmp_path / "begun.job", ScriptedClock()).close()
    for name in ("empty.job", "begun.job"):
        assert main(["verify", str(tmp_path / name)]) == Exit.FINDINGS
        assert "none: nothing was recorded" in capsys.readouterr().out
        for command in ("verify", "review"):
            assert main([command, str(tmp_path / name), "--code", job_code(scenario.rows())]) == Exit.FINDINGS
            assert "does not fit: rows were changed, cut or replaced" in capsys.readouterr().out
    scenario.write(tmp_path / "half.job", scenario.whole()[:9])
    assert main(["verify", str(tmp_path / "half.job")]) == Exit.DONE
    assert "so far" in capsys.readouterr().out
    (tmp_path / "text.job").write_text("not a job\n" * 900)
    for name, told in (("none.job", "no such file"), ("text.job", "not a job file"), ("", "a folder")):
        assert main(["verify", str(tmp_path / name)]) == Exit.BAD_JOB
        assert told in capsys.readouterr().err


def test_clock_jumps_and_a_file_carried_on(tmp_path: Path) -> None:
    clock = ScriptedClock()
    job = begin_job(tmp_path / "a-2.job", clock)
    job.append([encode(scenario.started())])
    clock.now -= timedelta(hours=1)
    job.append([encode(CarriedOn("a.job", 1, job.head))])
    job.close()
    text = verify(tmp_path / "a-2.job").as_text()
    assert "clock      wall time jumped back by 1 h 00 min before row 2; the order is by row number" in text
    assert "moved      after a disk error from 'a.job': its 1 rows are the first of this file" in text


def test_a_time_that_cannot_be_read_is_no_jump(tmp_path: Path) -> None:
    """R8: it was told as a jump by 0 s, and once more at the row after it."""
    clock = ScriptedClock()
    job = begin_job(tmp_path / "a.job", clock)
    job.append([encode(scenario.started())])
    job.write([chained(2, "noon", 6_000, *encode(ev.Paused()), job.head)])
    job.append([encode(ev.Resumed())])
    job.close()
    told = [each for each in verify(tmp_path / "a.job").as_text().splitlines() if each.startswith("clock")]
    assert told == ["clock      wall time cannot be read in row 2; the order is by row number"]


def test_json(job: Path, capsys: Capture) -> None:
    code = job_code(scenario.rows())
    assert main(["verify", str(job), "--json", "--code", code]) == Exit.DONE
    found = json.loads(capsys.readouterr().out)
    assert (found["consistent"], found["given_code"], found["code"], found["closed"]) == (True, "fits", code, True)
    assert (found["rows"], found["damage"], found["format"]) == (len(scenario.rows()), None, 1)
    assert [each["program"] for each in found["sessions"]] == ["pullcall 0.1.0"] * 2
    assert [each["stopped"] for each in found["gaps"]] == [False, True]
    assert found["sound"] == {"kept": 0, "there": 0, "changed": 0, "gone": 0}


def test_what_a_file_says_cannot_steer_the_terminal(tmp_path: Path) -> None:
    job = begin_job(tmp_path / "a.job", ScriptedClock())
    job.append([encode(ev.Started("\x1b[2J\nrows  all is well", "m", scenario.started().order))])
    job.close()
    text = verify(tmp_path / "a.job").as_text()
    assert "\x1b" not in text and "\nrows  all" not in text


def test_a_code_noted_down_before_the_job_went_on_fits(tmp_path: Path) -> None:
    """'Job code so far' of a report between two days, and of a file that a disk error ended: no row was changed."""
    path, clock = tmp_path / "a.job", ScriptedClock()
    codes = []
    for back in (0, 7200, 0):
        log = JobLog(resume_job(path, clock) if path.exists() else begin_job(path, clock), clock, print)
        log.append([encode(scenario.started()), encode(ev.Paused()), encode(ev.Resumed())])
        log.close()
        codes.append(verify(path).code)
        clock.now -= timedelta(seconds=back)
    for code, match in zip(codes, (Match.LONGER, Match.LONGER, Match.FITS), strict=True):
        assert verify(path, code).match is match
        assert check_code(code, read_job(path).rows).match is match
    later = begin_job(tmp_path / "a-2.job", clock)
    rows = read_job(path).rows
    later.write((*rows, *later.next_rows([encode(CarriedOn("a.job", len(rows), rows[-1].hash))], rows)))
    later.close()
    assert "fits an earlier end of this job" in verify(later.path, codes[-1]).as_text()


def test_very_many_closings_do_not_take_for_ever() -> None:
    audit, before = Audit(), START
    for seq in range(1, MOST_CLOSES * 3):
        row = chained(seq, "2026-03-17T08:05:00.000+01:00", seq, "job_finished", "{}", before)
        audit.take(row)
        before = row.hash
    assert len(audit.closes) == MOST_CLOSES and audit.sealing[-1].seq == MOST_CLOSES * 3 - 1
    assert code_of(audit.sealing[-1].hash) == code_of(before)


def test_a_job_beyond_all_bounds_is_refused_and_verified(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = scenario.write(tmp_path / "a.job")
    monkeypatch.setattr(schema, "MOST_ROWS", 100)
    for way in (review, read_job, lambda each: resume_job(each, ScriptedClock())):
        with pytest.raises(Refusal, match=r"holds 153 rows; a job has at most 100") as refused:
            way(path)
        assert refused.value.code is Exit.BAD_JOB
    assert verify(path).exit is Exit.DONE
    monkeypatch.setattr(schema, "MOST_ROWS", 1_000)
    monkeypatch.setattr(schema, "MOST_BYTES", 1_000)
    with pytest.raises(Refusal, match=r"a\.job: holds [\d,]+ bytes; a job has at most 1,000"):
        review(path)


def test_a_million_events(tmp_path: Path, nightly: bool, capsys: Capture) -> None:
    """Refused by name where all of it would have to be held; verified row by row."""
    count = 1_000_000 if nightly else 0
    if not count:
        pytest.skip("a million rows take minutes: --nightly")
    path = tmp_path / "million.job"
    job = begin_job(path, ScriptedClock())
    job.append([encode(scenario.started())])
    said = encode(ev.Said("pull", "one and a half", 0.9, "voice"))
    while job.append([said] * 50_000) < count:
        pass
    job.close()
    assert main(["review", str(path)]) == Exit.BAD_JOB
    assert "rows; a job has at most 100,000" in capsys.readouterr().err
    assert main(["verify", str(path)]) == Exit.DONE
    assert "1,000,001 rows" in capsys.readouterr().out


def test_a_hundred_megabytes_in_one_row(tmp_path: Path, nightly: bool, capsys: Capture) -> None:
    if not nightly:
        pytest.skip("100 MB are written: --nightly")
    path = tmp_path / "large.job"
    job = begin_job(path, ScriptedClock())
    job.append([encode(scenario.started()), ("new_kind", f'"{"x" * 100_000_000}"')])
    job.close()
    assert main(["verify", str(path)]) == Exit.DONE
    assert "2 rows" in capsys.readouterr().out
    assert main(["review", str(path)]) == Exit.DONE
