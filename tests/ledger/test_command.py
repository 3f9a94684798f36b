"""`pullcall review FOLDER` from the command line: page, files, refusals."""

import csv
import io
import json
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from pyarrow import parquet

from assistant.cli import main
from assistant.core import events as ev
from assistant.exits import Exit
from assistant.ledger import command, gather
from assistant.ledger.answers import DIMENSIONS, Answers
from assistant.ledger.facts import JOB_NAMES
from assistant.ledger.kept import NAME
from assistant.ledger.made import EVENTS, cast, make_jobs, retold, streams, write_job
from assistant.ledger.page import page
from assistant.ledger.tables import NESTED
from assistant.record.verify import verify
from tests.ledger.yard import BEGUN, talks, write_jobs
from tests.record.test_job_file import tamper

TREE = Path(__file__).parent.parent.parent


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    folder = tmp_path / "jobs"
    write_jobs(folder, 8)
    return folder


def test_the_page(jobs: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gather, "_CHUNK", 4)
    monkeypatch.setattr("assistant.ledger.command.FIRST_TABLE_S", 600.0)  # however busy the machine
    assert main(["review", str(jobs)]) == Exit.DONE
    shown = capsys.readouterr()
    assert shown.out.startswith(f"{jobs}: 8 job files; 8 counted\n") and shown.err == "pullcall: 8 job files\n"
    blocks = [block.splitlines() for block in shown.out.split("\n\n")]
    assert [block[0].split()[0] for block in blocks[1:6]] == ["file", "crew", "person", "carpet", "month"]
    assert len(blocks[1]) == 9 and blocks[1][1].startswith("000.job  000000  East   closed ")
    assert len({len(line) for line in blocks[2]}) == 1, "aligned"
    assert not list(jobs.glob(NAME)) and len(list(jobs.iterdir())) == 8, "a few jobs leave nothing behind"


def test_a_damaged_job_is_listed_and_left_out(jobs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["review", str(jobs), "--json"])
    before = json.loads(capsys.readouterr().out)
    tamper(write_job(jobs / "x.job", talks()[0], BEGUN), "UPDATE rows SET payload = '{}' WHERE seq = 90")
    (jobs / "y.job").write_text("no job")
    assert main(["review", str(jobs)]) == Exit.FINDINGS
    out = capsys.readouterr().out
    assert "10 job files; 8 counted; 2 not read to their end, left out of all averages" in out
    assert "x.job: row 90 was changed or damaged, or a row before it was taken out; 89 rows before that" in out
    assert "y.job: not a job file" in out and "nothing of it could be read" in out
    main(["review", str(jobs), "--json"])
    after = json.loads(capsys.readouterr().out)
    assert after["groups"] == before["groups"] and len(after["jobs"]) == 10


@pytest.mark.parametrize(
    ("margin", "told"),
    [(-0.0001, "-0.01"), (-0.07, "-0.07"), (-0.0701, "-0.08"), (0.0, "+0.00"), (0.004, "+0.00"), (None, "–")],
)
def test_what_is_outside_its_band_never_reads_as_at_the_limit(margin: float | None, told: str) -> None:
    pull = {"file": "a.job", "number": 1, "direction": "cross", "mark": "short", "margin": margin}
    row = {"crew": "North", "month": "2026-03", "jobs": 1, "pulls": 9, "share_in_band": 0.5, "short": 1, "over": 0}
    row |= {"skipped": 0, "worst_margin": margin, "bites": 2.0, "fall_back": -0.001}
    total = dict.fromkeys(("files", "unread", "twice", "counted", "not_closed"), 0)
    groups = {each: [row] if each == "crew" else [] for each in DIMENSIONS}
    shown = page("jobs", Answers(total, groups, {"crew": []}, (), [pull]), ())
    assert [line.split()[-1] for line in shown.splitlines() if line.startswith("a.job")] == [told]
    assert [line.split()[-4:] for line in shown.splitlines() if line.startswith("North")] == [
        [told, "2.0", "0.00", "%"]
    ]


def test_a_copied_file_counts_once(jobs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copy(jobs / "000.job", jobs / "copy.job")
    assert main(["review", str(jobs)]) == Exit.DONE
    assert "9 job files; 8 counted; 1 copies or carried on in another file, counted once" in capsys.readouterr().out


def test_practice_counts_only_when_asked_for(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    make_jobs(tmp_path, 3, 2)
    assert main(["review", str(tmp_path)]) == Exit.DONE
    assert "3 job files; 0 counted; 3 of practice, left out (--practice counts them)" in capsys.readouterr().out
    main(["review", str(tmp_path), "--practice"])
    assert "3 job files; 3 counted\n" in capsys.readouterr().out


def test_the_files(jobs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table, lines = tmp_path / "a.parquet", tmp_path / "a.csv"
    tamper(write_job(jobs / "x.job", talks()[0], BEGUN), "UPDATE rows SET payload = '{}' WHERE seq = 90")
    assert main(["review", str(jobs), "--csv", str(lines), "--parquet", str(table), "--json"]) == Exit.FINDINGS
    told = json.loads(capsys.readouterr().out)
    found = parquet.read_table(table)
    assert found.schema.equals(NESTED) and found.num_rows == 9
    assert found.select(JOB_NAMES).to_pylist() == told["jobs"]
    rows = list(csv.DictReader(io.StringIO(lines.read_bytes().decode())))
    assert [row["file"] for row in rows] == [each["file"] for each in told["jobs"]]
    assert "89 rows before that could be read" in rows[8]["second look"] and rows[0]["crew"] == "East"
    assert float(rows[0]["share in band"]) == told["jobs"][0]["share_in_band"]


def test_names_are_harmless_everywhere(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder, lines = tmp_path / "jobs", tmp_path / "a.csv"
    folder.mkdir()
    first, *others = talks()[0]
    assert isinstance(first, ev.Started)
    evil = replace(first, crew='=HYPERLINK("x")', person="\x1b[2J\n@SUM(1)")
    write_job(folder / "+1.job", [evil, *others], BEGUN)
    assert main(["review", str(folder), "--csv", str(lines)]) == Exit.DONE
    out = capsys.readouterr().out
    assert "\x1b" not in out and "\\x1b[2J\\n@SUM(1)" in out
    (row,) = csv.DictReader(io.StringIO(lines.read_bytes().decode(), newline=""))
    assert (row["file"], row["crew"]) == ("'+1.job", """'=HYPERLINK("x")""")
    assert not [each for each in row.values() if each.startswith(("=", "+", "-", "@", "\t"))]


Refuse = Callable[[list[str], Exit, str], None]


@pytest.fixture
def refuses(capsys: pytest.CaptureFixture[str]) -> Refuse:
    def check(arguments: list[str], code: Exit, told: str) -> None:
        capsys.readouterr()
        assert main(["review", *arguments]) == code
        shown = capsys.readouterr()
        assert shown.out == "" and told in shown.err and shown.err.count("\n") == 1, shown.err

    return check


def test_refusals(jobs: Path, tmp_path: Path, refuses: Refuse) -> None:
    (tmp_path / "empty").mkdir()
    refuses([str(tmp_path / "none"), "--json"], Exit.BAD_JOB, "none: no such folder; give the folder")
    refuses([str(tmp_path / "empty")], Exit.BAD_JOB, "empty: no job file in this folder or below it")
    refuses([str(jobs / "000.job"), "--csv", "a.csv"], Exit.USAGE, "000.job is one job file; give the folder")
    refuses([str(jobs), "--csv", "a.csv", "--out", "x"], Exit.USAGE, "--csv makes one table, --out a report of each")


def test_no_output_takes_a_jobs_place(jobs: Path, tmp_path: Path, refuses: Refuse) -> None:
    other = tmp_path / "renamed.dat"
    shutil.copy(jobs / "000.job", other)
    mine = tmp_path / "mine.csv"
    mine.write_text("mine")
    (tmp_path / "link.csv").symlink_to(mine)
    before = {each: each.read_bytes() for each in (other, mine, *jobs.iterdir())}
    for option in ("--csv", "--parquet"):
        for target, told in (
            (jobs / "000.job", "would take a job file's place"),
            (jobs / "new.job", "would take a job file's place"),
            (other, "would take a job file's place"),
            (jobs / "000.job" / "a", "there is no folder"),
            (tmp_path / "no" / "a.csv", "there is no folder"),
            (tmp_path / "link.csv", "is a link"),
            (tmp_path, "is a folder"),
        ):
            refuses([str(jobs), option, str(target)], Exit.NOT_WRITABLE, told)
    assert {each: each.read_bytes() for each in (other, mine, *jobs.iterdir())} == before


def test_a_full_disk(jobs: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["review", str(jobs), "--csv", "/dev/full"]) == Exit.NOT_WRITABLE
    assert "/dev/full: not written (No space left on device); name another file" in capsys.readouterr().err


def test_without_the_extra(jobs: Path, refuses: Refuse, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(command, "find_spec", lambda name: None if name == "duckdb" else name)
    refuses([str(jobs)], Exit.USAGE, "needs duckdb: add the extra, as in pip install 'pullcall[review]'")


def test_single_jobs_and_reports_of_each_need_no_extra(jobs: Path, tmp_path: Path) -> None:
    script = (
        "import sys\n"
        "for name in ('duckdb', 'ibis', 'pyarrow', 'pandas'): sys.modules[name] = None\n"
        "from assistant.cli import main\n"
        "job, folder, out = sys.argv[1:]\n"
        "sys.exit(main(['review', job]) or main(['review', folder, '--out', out]) or main(['review', folder]) != 2)"
    )
    places = [str(jobs / "000.job"), str(jobs), str(tmp_path / "o")]
    subprocess.run([sys.executable, "-c", script, *places], cwd=TREE, check=True, stdout=subprocess.DEVNULL)
    assert len(list((tmp_path / "o").glob("*.html"))) == 8


def test_a_first_table_comes_early_as_talk(
    jobs: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(command, "FIRST_TABLE_S", 0.0)
    monkeypatch.setattr(gather, "_CHUNK", 2)
    assert main(["review", str(jobs)]) == Exit.DONE
    shown = capsys.readouterr()
    assert "first table, of 2 files taken at random from 8; the others are being read" in shown.err
    assert "2 job files; 2 counted" in shown.err and shown.err.count("first table") == 1
    assert "8 job files; 8 counted" in shown.out


def test_many_files_are_shown_before_they_are_checked_and_that_is_said(
    jobs: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value in (("FEW", 2), ("MANY", 4), ("_CHUNK", 2)):
        monkeypatch.setattr(gather, name, value)
    monkeypatch.setattr(command, "FIRST_LOOK_S", 600.0)  # however busy the machine
    assert main(["review", str(jobs)]) == Exit.DONE
    shown = capsys.readouterr()
    told = (
        "first table, of 8 files, all there are; at first sight, whether anything was changed or damaged is NOT CHECKED"
    )
    assert told in shown.err and "8 job files; 8 counted" in shown.err and "stood as sound" not in shown.err
    assert shown.out.startswith(f"{jobs}: 8 job files; 8 counted\n")
    tamper(jobs / "003.job", "UPDATE rows SET payload = payload || ' ' WHERE seq = 90")
    assert main(["review", str(jobs), "--afresh"]) == Exit.FINDINGS
    shown = capsys.readouterr()
    assert "8 job files; 8 counted" in shown.err, "as it looks before it is checked"
    assert (
        "in the first table 1 files stood as sound and are not, the table below leaves them out: 003.job" in shown.err
    )
    assert "8 job files; 7 counted; 1 not read to their end" in shown.out
    monkeypatch.setattr(command, "SHOWN_UNLIKE", 0)
    main(["review", str(jobs), "--afresh"])
    assert "leaves them out: and 1 more" in capsys.readouterr().err


def test_the_program_itself_shows_both_tables_and_loads_no_pandas(jobs: Path) -> None:
    """As a process of its own, whose reading processes are split off."""
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from assistant.ledger import command, gather\n"
        "gather.FEW, gather.MANY, gather._CHUNK, command.FIRST_LOOK_S = 2, 4, 2, 600.0\n"
        "folder = Path(sys.argv[1])\n"
        "code = command.review_folder(folder, command.Wishes())\n"
        "assert not {'pandas', 'ibis'} & set(sys.modules), 'loaded for nothing'\n"
        "import pandas\n"
        "sys.exit(code)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(jobs)], cwd=TREE, capture_output=True, text=True, check=False
    )
    assert done.returncode == Exit.DONE, done.stderr
    assert "first table, of 8 files, all there are" in done.stderr and "8 job files; 8 counted" in done.stdout
    assert (jobs / NAME).is_file()


def test_many_jobs_are_kept_and_told_the_same(
    jobs: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gather, "FEW", 4)
    monkeypatch.setattr(gather, "_CHUNK", 4)
    main(["review", str(jobs)])
    first = capsys.readouterr().out
    kept = (jobs / NAME).read_bytes()
    main(["review", str(jobs)])
    assert capsys.readouterr().out == first and (jobs / NAME).read_bytes() == kept
    main(["review", str(jobs), "--afresh"])
    assert capsys.readouterr().out == first


def test_what_cannot_be_kept_is_told(
    jobs: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(gather, "FEW", 4)
    monkeypatch.setattr(gather, "_CHUNK", 4)
    (jobs / NAME).mkdir()
    assert main(["review", str(jobs)]) == Exit.DONE
    assert "the next review reads all files again" in capsys.readouterr().err
    assert [each.name for each in jobs.iterdir() if each.name.startswith(".")] == [NAME]


# --- Made-up jobs -----------------------------------------------------------------------------------------------


def test_made_up_jobs_are_real_files_of_so_many_events(tmp_path: Path) -> None:
    assert make_jobs(tmp_path / "a", 3, 2, seed=7) == make_jobs(tmp_path / "b", 3, 2, seed=7) == 3
    files = sorted((tmp_path / "a").rglob("*.job"))
    assert [each.name for each in files] == ["000000.job", "000001.job", "000002.job"]
    again = sorted((tmp_path / "b").rglob("*.job"))
    assert [each.read_bytes() for each in files] == [each.read_bytes() for each in again]
    assert len({each.read_bytes() for each in files}) == 3
    for each in files:
        with sqlite3.connect(each) as base:
            assert base.execute("SELECT COUNT(*) FROM rows").fetchone() == (EVENTS,)
        assert verify(each).exit is Exit.DONE
    started = next(retold(next(streams(1)), cast(1, 0), 0))
    assert isinstance(started, ev.Started) and started.program.startswith("PRACTICE on simulated carpet")


def test_making_and_measuring_as_commands(tmp_path: Path) -> None:
    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        command_line = [sys.executable, "-m", "assistant.ledger", *arguments]
        return subprocess.run(command_line, cwd=TREE, capture_output=True, text=True, check=False)

    assert run("make", str(tmp_path / "m"), "--jobs", "3", "--rooms", "1").stdout.startswith("3 jobs from 1 talks")
    assert run("make", str(tmp_path / "m")).returncode == Exit.NOT_WRITABLE
    done = run("bench", str(tmp_path / "m"))
    cold, warm = done.stdout.splitlines()
    assert cold.startswith("cold: first table") and warm.startswith("warm: first table") and "(of 3 jobs)" in warm
    missing = run("bench", str(tmp_path / "none"))
    assert missing.returncode == Exit.BAD_JOB and missing.stderr.count("\n") == 1
