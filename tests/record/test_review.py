"""Reviewing whole, half, empty, foreign, damaged and newer files: always a line, never a traceback."""

import random
import sqlite3
from pathlib import Path

import pytest

from assistant.exits import Exit, Refusal
from assistant.record.code import job_code
from assistant.record.job_file import begin_job
from assistant.record.review import SUFFIX, review
from tests.record import scenario
from tests.record.scenario import ScriptedClock
from tests.record.test_job_file import tamper


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return scenario.write(tmp_path / f"0427{SUFFIX}")


def test_a_whole_job(job: Path) -> None:
    before = job.read_bytes()
    found = review(job)
    assert found.code is Exit.DONE
    assert found.text.splitlines()[0] == f"{job}: job 0427, {len(scenario.rows())} rows"
    for told in (
        *("verdict    1 pull short of the least, 1 over. 1 pull left out.", "room       16 ft 2 in by 12 ft 3 5/8 in"),
        "hearing    at most 4 of 74 utterances misheard or taken back",
        *("length     in band; asked 1 to 1.5 % (default); average 1.09 %", "pull 16, short: 1 3/8 in estimated"),
        *("caution    62 F: at least 65 F asked", "conditions temperature 62 °F, humidity 45 %, unrolled not recorded"),
        f"job code   {job_code(scenario.rows())}",
    ):
        assert told in found.text
    assert [each.name for each in found.files] == ["0427.html", "0427.csv", "0427.json"]
    assert all(each.is_file() and each.parent == job.parent for each in found.files)
    assert job.read_bytes() == before
    assert not list(job.parent.glob("*-journal"))


def test_reports_go_where_they_are_wanted(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "deep" / "reports"
    found = review(job, out)
    assert sorted(each.name for each in out.iterdir()) == ["0427.csv", "0427.html", "0427.json"]
    assert all(each.parent == out for each in found.files)
    with pytest.raises(Refusal, match="cannot be made") as refused:
        review(job, job / "under a file")
    assert refused.value.code is Exit.NOT_WRITABLE


@pytest.mark.parametrize("name", ["..job", ".job", "...job", "a b\n.job", "-rf.job", "x" * 200 + ".job"])
def test_no_report_leaves_its_folder(tmp_path: Path, name: str) -> None:
    out = tmp_path / "deep" / "out"
    found = review(scenario.write(tmp_path / name), out, sheet=True)
    assert len(found.files) == 4 and all(each.parent == out for each in found.files)
    assert sorted(out.iterdir()) == sorted(found.files)
    assert [each.name for each in (tmp_path / "deep").iterdir()] == ["out"]


def test_no_report_is_written_through_a_link(job: Path, tmp_path: Path) -> None:
    mine = tmp_path / "mine.txt"
    mine.write_text("mine")
    (tmp_path / "0427.csv").symlink_to(mine)
    with pytest.raises(Refusal, match=r"0427\.csv: is a link") as refused:
        review(job)
    assert refused.value.code is Exit.NOT_WRITABLE and mine.read_text() == "mine"


def test_the_code_kept_elsewhere(job: Path) -> None:
    code = job_code(scenario.rows())
    fits = review(job, typed_code=code)
    assert "code       fits: nothing was changed" in fits.text and fits.code is Exit.DONE
    tamper(job, "DELETE FROM rows WHERE seq > 100")
    cut = review(job, typed_code=code)
    assert "code       does not fit" in cut.text and cut.code is Exit.FINDINGS
    with pytest.raises(Refusal) as refused:
        review(job, typed_code="maple")
    assert refused.value.code is Exit.USAGE


def test_half_a_job(tmp_path: Path) -> None:
    turns = scenario.whole()
    for count in (1, 6, 13, 30):
        path = scenario.write(tmp_path / f"half{count}{SUFFIX}", turns[:count])
        found = review(path)
        assert found.code is Exit.DONE and "(so far: the job was not closed)" in found.text


def test_empty_ones(tmp_path: Path) -> None:
    (tmp_path / "a.job").touch()
    begin_job(tmp_path / "b.job", ScriptedClock()).close()
    for name in ("a.job", "b.job"):
        found = review(tmp_path / name)
        assert found.text == f"{tmp_path / name}: an empty job file; nothing was recorded"
        assert found.code is Exit.FINDINGS and found.files == ()


def test_missing_and_foreign(tmp_path: Path) -> None:
    (tmp_path / "text.job").write_text("not a job\n" * 900)
    for name, told in (("none.job", "no such file"), ("text.job", "not a job file")):
        with pytest.raises(Refusal, match=told) as refused:
            review(tmp_path / name)
        assert refused.value.code is Exit.BAD_JOB
        assert "\n" not in refused.value.line


def test_a_damaged_job_is_read_as_far_as_it_goes(job: Path) -> None:
    tamper(job, "UPDATE rows SET payload = '{}' WHERE seq = 50")
    found = review(job, typed_code=job_code(scenario.rows()))
    assert found.code is Exit.FINDINGS
    assert "DAMAGE     row 50 was changed or damaged" in found.text and "49 rows" in found.text
    assert "; what follows rests on 49 rows\n" in found.text and "not closed" not in found.text
    assert "code       cannot be checked" in found.text
    assert "row 50 was changed" in found.files[0].read_text(encoding="utf-8")


def test_a_newer_job_is_read(job: Path) -> None:
    base = sqlite3.connect(job)
    base.execute("PRAGMA user_version = 9")
    base.close()
    found = review(job)
    assert "written by a newer pullcall (format 9): what it added is not shown" in found.text
    assert "15 in band" in found.text and found.code is Exit.FINDINGS
    assert f"is not shown; what follows rests on {len(scenario.rows())} rows\n" in found.text


def test_a_newer_layout_is_told(job: Path) -> None:
    base = sqlite3.connect(job)
    base.execute("PRAGMA user_version = 9")
    base.execute("ALTER TABLE rows RENAME TO lines")
    base.commit()
    base.close()
    assert "written by a newer pullcall (format 9): row 1 cannot be read" in review(job).text


def test_while_a_session_holds_it(tmp_path: Path) -> None:
    held = begin_job(tmp_path / "a.job", ScriptedClock())
    with pytest.raises(Refusal) as refused:
        review(tmp_path / "a.job")
    assert refused.value.code is Exit.JOB_BUSY
    held.close()


def test_a_folder_of_jobs(job: Path, tmp_path: Path) -> None:
    (tmp_path / f"bad{SUFFIX}").write_text("not a job\n" * 900)
    (tmp_path / "notes.txt").write_text("kept out")
    found = review(tmp_path)
    assert found.code is Exit.FINDINGS and len(found.files) == 3
    assert "job 0427" in found.text and "bad.job: not a job file" in found.text and "notes" not in found.text
    (tmp_path / f"bad{SUFFIX}").unlink()
    assert review(tmp_path).code is Exit.DONE
    (tmp_path / "none").mkdir()
    with pytest.raises(Refusal, match="no job file in this folder"):
        review(tmp_path / "none")


def test_any_damage_ends_in_a_review_or_a_refusal(job: Path, tmp_path: Path) -> None:
    """R4: zeroed blocks, doubled blocks, cuts and flips anywhere."""
    whole = job.read_bytes()
    chance = random.Random(11)
    for number in range(60):
        content = bytearray(whole)
        at, length = chance.randrange(len(whole)), chance.choice((1, 64, 512, 4096))
        match number % 4:
            case 0:
                content[at : at + length] = bytes(len(content[at : at + length]))
            case 1:
                content = content[:at]
            case 2:
                content[at] ^= 1 << chance.randrange(8)
            case _:
                content[at : at + length] = whole[: len(content[at : at + length])]
        path = tmp_path / f"broken{number}{SUFFIX}"
        path.write_bytes(content)
        try:
            found = review(path, tmp_path / "out")
        except Refusal as refused:
            assert refused.code in (Exit.BAD_JOB, Exit.NOT_WRITABLE)
            continue
        assert found.text.startswith(str(path))
