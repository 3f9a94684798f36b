"""The command line itself: help, version, exit codes, and what happens to a call that cannot be understood."""

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from assistant import __version__
from assistant.cli import main
from assistant.exits import LONGEST, Exit, Refusal, one_line

OPTIONS = {
    "demo": ("--out", "--recordings", "--model", "--quiet", "--keep-audio"),
    "plan": ("length", "width", "--corner", "--lay", "--construction", "--figure-length", "--figure-width", "--json"),
    "hear": ("FILE", "--ask", "--model", "--json"),
    "review": ("JOB", "--out", "--code", "--sheet"),
    "verify": ("JOB", "--code", "--json"),
    "forget": ("JOB", "--audio"),
    "bench": ("--json", "--live"),
}
"""Command -> what its help must show."""

Capture = pytest.CaptureFixture[str]


def ended(capsys: Capture, *arguments: str) -> tuple[int, str, str]:
    """Exit code, stdout, stderr of a call that argparse itself ends."""
    with pytest.raises(SystemExit) as stop:
        main(arguments)
    shown = capsys.readouterr()
    return int(stop.value.code or 0), shown.out, shown.err


@pytest.mark.parametrize("command", OPTIONS)
def test_help_of_each_command(capsys: Capture, command: str) -> None:
    code, out, err = ended(capsys, command, "--help")
    assert (code, err) == (0, "")
    assert out.startswith(f"usage: pullcall {command}")
    for each in OPTIONS[command]:
        assert each in out


def test_help_lists_every_command_and_every_exit_code(capsys: Capture) -> None:
    code, out, err = ended(capsys, "--help")
    assert (code, err) == (0, "")
    lines = [line.strip() for line in out.splitlines()]
    for command in OPTIONS:
        assert any(line.startswith(f"{command} ") for line in lines)
    codes = lines[lines.index("exit codes:") + 1 :]
    listed = {int(number): " ".join(name) for number, *name in (line.split() for line in codes)}
    assert listed == {each.value: each.name.lower().replace("_", " ") for each in Exit}


def test_version(capsys: Capture) -> None:
    assert ended(capsys, "--version") == (0, f"pullcall {__version__}\n", "")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("dance",), "pullcall: argument COMMAND: invalid choice: 'dance'"),
        (("",), "pullcall: argument COMMAND: invalid choice: ''"),
        (("plan",), "pullcall plan: the following arguments are required: room"),
        (("plan", "16 ft", "12 ft", "--colour"), "pullcall: unrecognized arguments: --colour"),
        (
            ("plan", "16 ft", "12 ft", "--corner", "middle"),
            "pullcall plan: argument --corner: invalid choice: 'middle'",
        ),
        (("plan", "16 ft", "12 ft", "--lay"), "pullcall plan: argument --lay: expected one argument"),
        (("hear",), "pullcall hear: the following arguments are required: FILE"),
        (("review",), "pullcall review: the following arguments are required: JOB"),
        (("review", "a.job", "b.job"), "pullcall: unrecognized arguments: b.job"),
        (("demo", "a"), "pullcall: unrecognized arguments: a"),
        (("bench", "a\nb"), r"pullcall: unrecognized arguments: a\nb"),
        (("x" * 50_000,), "pullcall: argument COMMAND: invalid choice: 'xxx"),
    ],
)
def test_a_wrong_call_is_one_line_and_points_to_help(capsys: Capture, arguments: tuple[str, ...], told: str) -> None:
    code, out, err = ended(capsys, *arguments)
    assert (code, out) == (Exit.USAGE, "")
    assert err.startswith(told)
    assert err.endswith(" --help' shows how\n")
    assert err.count("\n") == 1 and len(err) < 1_200


def test_an_unknown_command_is_told_the_known_ones(capsys: Capture) -> None:
    _, _, err = ended(capsys, "dance")
    for command in OPTIONS:
        assert command in err


@pytest.mark.parametrize(
    ("raised", "code", "told"),
    [
        (KeyboardInterrupt(), Exit.STOPPED, "pullcall: stopped\n"),
        (Refusal(Exit.BAD_JOB, "a.job: torn"), Exit.BAD_JOB, "pullcall: a.job: torn\n"),
        (
            OSError(errno.ENAMETOOLONG, os.strerror(errno.ENAMETOOLONG), "name"),
            Exit.NOT_WRITABLE,
            f"pullcall: name: {os.strerror(errno.ENAMETOOLONG)}; mend that or name another place\n",
        ),
    ],
)
def test_whatever_ends_a_command_becomes_a_line_and_a_code(
    capsys: Capture, monkeypatch: pytest.MonkeyPatch, raised: BaseException, code: Exit, told: str
) -> None:
    def stop(*_: object) -> str:
        raise raised

    monkeypatch.setattr("assistant.plan_command.run", stop)
    assert main(["plan", "16 ft", "12 ft"]) == code
    assert capsys.readouterr() == ("", told)


@pytest.mark.skipif(os.name == "nt", reason="a folder in use cannot be removed there")
def test_a_folder_that_was_removed_is_no_output(
    capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    assert main(["--plain", "--no-mic", "--quiet"]) == Exit.NOT_WRITABLE
    assert capsys.readouterr() == ("", "pullcall: this folder: was removed meanwhile; change to another\n")


def test_as_a_program() -> None:
    """As the script of the wheel calls it: what main returns is what the shell is told."""
    program = [sys.executable, "-c", "import sys; from assistant.cli import main; sys.exit(main())"]
    done = subprocess.run([*program, "plan", "16 ft", "0 ft"], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (Exit.BAD_SIZE, "")
    assert done.stderr.startswith("pullcall: '0 ft': a length cannot be zero")
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a b  c", "a b  c"),
        ("a\nb\r\tc", r"a\nb\r\tc"),
        ("a\udcff", r"a\udcff"),
        ("5 m²", "5 m²"),
        ("\u202eb", r"\u202eb"),
    ],
)
def test_odd_signs_are_spelt_out(text: str, shown: str) -> None:
    assert one_line(text) == shown
    assert Refusal(Exit.USAGE, text).line == shown


def test_the_end_of_a_long_line_is_kept_because_the_cure_stands_there() -> None:
    line = one_line("thing " * 1_000 + "; mend it")
    assert len(line) < LONGEST and line.startswith("thing ") and line.endswith("; mend it")
