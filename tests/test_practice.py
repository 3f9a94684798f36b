"""`pullcall practice`: a job against the simulated carpet, typed; learner, trainer, log and report."""

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from shlex import split

import pytest

from assistant.cli import main
from assistant.core import events as ev
from assistant.exits import Exit
from assistant.orders import read_order
from assistant.practice_job import practice_seed
from assistant.record.clock import SystemClock
from assistant.record.codec import encode
from assistant.record.job_file import begin_job, resume_job
from assistant.record.review import review

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def practise(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs the command with typed lines; its exit code, output and talk."""

    def run(*options: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.chdir(tmp_path)
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        code = main(["practice", *(() if "--out" in options else ("--out", str(tmp_path / "p"))), *options])
        said = capsys.readouterr()
        return code, said.out, said.err

    return run


def test_a_job_done_right_ends_with_a_report_that_says_practice(practise: Run, tmp_path: Path) -> None:
    code, out, _ = practise("--auto")
    assert code == Exit.DONE
    assert "(no mistakes)" in out and "The job is closed." in out
    assert "hold inside their band)" in out
    html = (tmp_path / "p" / "practice.html").read_text()
    assert "<h1>PRACTICE: Job 1</h1>" in html and "PRACTICE on a simulated carpet" in html
    assert json.loads((tmp_path / "p" / "practice.json").read_text())["practice"] is True
    assert "PRACTICE   on a simulated carpet" in review(tmp_path / "p" / "practice.job").text
    assert "PRACTICE on simulated carpet 7" in html


@pytest.mark.parametrize("seed", ["0", "1", "12", "28"])
def test_every_carpet_is_brought_to_the_end(practise: Run, seed: str) -> None:
    code, out, _ = practise("--auto", "--seed", seed)
    assert code == Exit.DONE and "(no mistakes)" in out


def test_a_metric_room(practise: Run) -> None:
    code, out, _ = practise("--auto", "--room", "2.5 m", "2.2 m")
    assert code == Exit.DONE and "mm)" in out and "(no mistakes)" in out


def test_the_end_of_the_input_keeps_the_job_and_it_is_resumed_on_the_same_carpet(practise: Run, tmp_path: Path) -> None:
    folder = tmp_path / "p q"
    code, out, err = practise("--seed", "5", "--out", str(folder), typed="ready\n")
    assert code == Exit.DONE
    assert "(you take a bite: the mark has moved" in out
    told = err.partition("resume it with: ")[2]
    assert split(told) == ["pullcall", "practice", "--out", str(folder)], "can be pasted"
    code, out, _ = practise("--auto", "--seed", "6", "--out", str(folder))
    assert code == Exit.DONE and "The job is closed." in out and "(no mistakes)" in out
    job = resume_job(folder / "practice.job", SystemClock())
    assert practice_seed(job) == 5
    job.close()


def test_a_pull_begun_is_resumed_where_its_mark_stood(practise: Run) -> None:
    _, out, _ = practise(typed="ready\nhalf an inch\n")
    code, out, _ = practise(typed="")
    assert code == Exit.DONE and "(the mark stands at" in out


def test_a_hold_that_was_asked_for_is_resumed(practise: Run) -> None:
    practise(typed="ready\none and a half\nyes\nhooked\n")
    code, out, _ = practise(typed="")
    assert code == Exit.DONE and "(hooked, the mark stands at" in out


def test_mistakes_are_made_and_told_at_the_end(practise: Run) -> None:
    wrong = "ready\none inch\nbanana\nhooked\nyes\nnine sixteenths\nno\nskip pipe\n"
    code, out, _ = practise(typed=wrong)
    assert code == Exit.DONE
    told = out.partition("(mistakes: ")[2]
    assert "you said 1 in; the tape showed" in told
    assert "not understood" in told
    assert "right was 'short: another bite'" in told
    assert "short after hooking and left so" in told
    assert "left out" in told
    assert "(in truth 0 of 1 pulls hold inside their band)" in out


def test_a_hold_reading_that_is_scratched_is_no_pull_left_short(practise: Run) -> None:
    _, out, _ = practise(typed="ready\none inch\nhooked\nyes\nnine sixteenths\nscratch that\n")
    assert "Scratched." in out and "(mistakes: " in out
    assert "left so" not in out


def test_enter_alone_is_one_more_bite(practise: Run) -> None:
    _, out, _ = practise(typed="\nready\n\n\n")
    assert out.count("(you take another bite") == 2
    assert "(no pull is open yet)" in out


@pytest.mark.parametrize("typed", ["1/16", "1/16 in", "a sixteenth", "One sixteenth"])
def test_a_figure_is_typed_as_on_the_tape_and_shown_as_it_is_said(practise: Run, typed: str) -> None:
    _, out, _ = practise(typed=f"ready\n{typed}\n")
    assert "sixteenth" in out.split("you:    ready")[1].split("you:    ")[1].splitlines()[0].lower()
    assert "Again, please" not in out and "(no mistakes)" in out


def test_a_slip_left_untold_is_a_mistake(practise: Run) -> None:
    """Carpet 7 lets go within 200 bites; a learner who goes on reading is told."""
    _, out, _ = practise(typed="ready\n" + "\n" * 200)
    bites = out.split("the head slips")[0].count("(you take") - 1
    code, out, _ = practise("--out", "again", typed="ready\n" + "\n" * bites + "half an inch\n")
    assert code == Exit.DONE and "you said 1/2 in after the head had slipped; say 'it slipped'" in out


def test_nonsense_and_bytes_that_are_no_text_are_not_understood(tmp_path: Path) -> None:
    command = [sys.executable, "-c", "import sys; from assistant.cli import main; sys.exit(main())", "practice"]
    typed = b"ready\n\xff\xfe\x00banana\n" + b"x" * 5000 + b"\n;--\n"
    env = {**os.environ, "PYTHONPATH": str(Path.cwd())}
    done = subprocess.run([*command, "--out", "p"], input=typed, cwd=tmp_path, env=env, capture_output=True)
    assert done.returncode == Exit.DONE
    assert b"Traceback" not in done.stderr
    assert b"not understood" in done.stdout


@pytest.mark.parametrize(
    ("options", "code", "words"),
    [
        (["--room", "8 ft", "banana"], Exit.BAD_SIZE, "banana"),
        (["--room", "8 ft", "2 m"], Exit.BAD_SIZE, "2 m"),
        (["--room", "1 in", "8 ft"], Exit.BAD_SIZE, "1 in"),
        (["--seed", "-1"], Exit.USAGE, "--seed -1: must be from 0"),
        (["--seed", "99999999999"], Exit.USAGE, "must be from 0"),
        (["--voice", "--model", "nowhere"], None, "nowhere"),
    ],
)
def test_bad_input_is_told_in_one_line(
    practise: Run, options: list[str], code: Exit | None, words: str, tmp_path: Path
) -> None:
    found, _, err = practise(*options)
    assert found == code or (code is None and found in (Exit.BAD_MODEL, Exit.BAD_AUDIO))
    assert len(err.splitlines()) == 1 and (words in err or code is None)
    assert not (tmp_path / "p").exists()


def test_a_real_job_is_never_practised_on(practise: Run, tmp_path: Path) -> None:
    folder = tmp_path / "p"
    folder.mkdir()
    job = begin_job(folder / "practice.job", SystemClock())
    job.append([encode(ev.Started("0.1.0", "real", read_order()))])
    job.close()
    code, _, err = practise("--auto")
    assert code == Exit.BAD_JOB and "is no practice but a real job" in err
    (folder / "practice.job").rename(folder / "carpet.job")
    code, _, err = practise("--auto")
    assert code == Exit.BAD_JOB and "holds a job that is no practice" in err


def test_a_real_report_never_says_practice(tmp_path: Path) -> None:
    path = tmp_path / "a.job"
    job = begin_job(path, SystemClock())
    job.append([encode(ev.Started("0.1.0", "real", read_order()))])
    job.close()
    assert "PRACTICE" not in review(path).text
    assert "PRACTICE" not in (tmp_path / "a.html").read_text()
