"""Bad input of every kind through every command that can meet it: one clear line, its exit code, nothing lost.

Most calls run in this process; those about streams, signals and disks run as a program. What each reader refuses in
detail stands in its own tests; here it is the whole command that must keep its manners.
"""

import csv
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from assistant.cli import main
from assistant.core.band import Figure
from assistant.core.length import Length, System
from assistant.demo import read_playlist
from assistant.exits import Exit, Refusal
from assistant.record import schema
from assistant.record.job_file import begin_job, resume_job
from assistant.record.reading import read_job
from assistant.settings import Settings, read_settings
from assistant.shelf import model_folder, recordings_folder
from assistant.typed_size import read_figure
from assistant.units import read_length
from tests.record import scenario
from tests.record.scenario import ScriptedClock

Capture = pytest.CaptureFixture[str]
DEMO = recordings_folder() / "demo"
PROGRAM = "import sys; from assistant.cli import main; sys.exit(main())"
posix = pytest.mark.skipif(os.name == "nt", reason="signals, odd file names and closed streams as POSIX has them")


@dataclass(frozen=True)
class Case:
    """A call, and what is told about it."""

    arguments: tuple[str, ...]
    """'@name' stands for that thing in the folder of rubbish."""
    code: Exit
    thing: str
    """Named in the line; '@' as above."""
    cure: str
    """What would be right."""

    def __str__(self) -> str:
        return " ".join(each[:30] for each in self.arguments)


def case(call: str, code: Exit, thing: str, cure: str) -> Case:
    """`call` is split at ' | '."""
    return Case(tuple(call.split(" | ")), code, thing, cure)


WRITE_IT = "write it like '16 ft 2 in'"
SIZES = [
    case("plan | 0 ft | 12 ft", Exit.BAD_SIZE, "'0 ft'", WRITE_IT),
    case("plan | 12 ft | 0 mm", Exit.BAD_SIZE, "'0 mm'", WRITE_IT),
    case("plan | -3ft | 12 ft", Exit.BAD_SIZE, "'-3ft': a length cannot be negative", WRITE_IT),
    case("plan | 12 ft | -3ft", Exit.BAD_SIZE, "'-3ft': a length cannot be negative", WRITE_IT),
    case("plan | -.5 m | 4 m", Exit.BAD_SIZE, "'-.5 m': a length cannot be negative", WRITE_IT),
    case("plan | -- | -3 ft | 12 ft", Exit.BAD_SIZE, "'-3 ft': a length cannot be negative", WRITE_IT),
    case("plan | −3ft | 12 ft", Exit.BAD_SIZE, "'−3ft': a length cannot be negative", WRITE_IT),
    case("plan | 1 in | 12 ft", Exit.BAD_SIZE, "'1 in': That is too short", "A side has 2 ft to 100 ft."),
    case("plan | 16 ft | 400 ft", Exit.BAD_SIZE, "'400 ft': That is too long", "A side has 2 ft to 100 ft."),
    case("plan | 4 m | 400 m", Exit.BAD_SIZE, "'400 m': That is too long", "A side has 609.6 mm to 30.48 m."),
    case(f"plan | {'9' * 100_000} ft | 12 ft", Exit.BAD_SIZE, "'99999", WRITE_IT),
    case(f"plan | {'9' * 50} ft | 12 ft", Exit.BAD_SIZE, "'99999", "A side has"),
    case(f"plan | 12 ft | {'x' * 50_000}", Exit.BAD_SIZE, "'xxxxx", WRITE_IT),
    case("plan | 16 ft 20 cm | 12 ft", Exit.BAD_SIZE, "'16 ft 20 cm' mixes", "use one tape"),
    case("plan | 16 ft | 4 m", Exit.BAD_SIZE, "'4 m'", "Feet or metres? This room is in feet"),
    case("plan | 16 cubits | 12 ft", Exit.BAD_SIZE, "unknown unit 'cubits'", "use ft, in, yd, m, cm or mm"),
    case("plan | 16 m2 | 12 ft", Exit.BAD_SIZE, "'16 m2'", WRITE_IT),
    case("plan | 16 | 12", Exit.BAD_SIZE, "'16'", WRITE_IT),
    case("plan |  | ", Exit.BAD_SIZE, "''", WRITE_IT),
    case("plan | nan ft | 12 ft", Exit.BAD_SIZE, "'nan ft'", WRITE_IT),
    case("plan | 1e3 ft | 12 ft", Exit.BAD_SIZE, "'1e3 ft'", "use ft, in"),
    case("plan | 1/0 ft | 12 ft", Exit.BAD_SIZE, "'1/0 ft'", WRITE_IT),
    case("plan | 16 f\nt | 12 ft", Exit.BAD_SIZE, r"'16 f\nt'", WRITE_IT),
    case("plan | 16 ft\udcff | 12 ft", Exit.BAD_SIZE, r"'16 ft\udcff'", WRITE_IT),
    *(
        case(f"plan | 16 ft | 12 ft | --figure-length | {text}", Exit.BAD_SIZE, f"'{text[:9]}", cure)
        for text, cure in (
            *((each, "write '1' or '1-1.5' per cent") for each in ("x", "", "-1", "1-", "1-2-3", "1/0", "nan", "1_0")),
            *((each, "write '1' or '1-1.5' per cent") for each in ("1e999999999", "9" * 50_000)),
            *((each, "least must be above 0") for each in ("0", "2-1", "11", "1-11")),
        )
    ),
]

SETTINGS = {
    "none.toml": "No such file",
    "folder": "directory",
    "binary": "cannot be read",
    "torn.toml": "cannot be read",
    "deep.toml": "cannot be read",
    "long_number.toml": "cannot be read",
    "x" * 5_000: "cannot be read",
    "rate.toml": "voice.rate = 90: must be a whole number from 120 to 220",
    "width.toml": "head.width = '15 cubits': must be a length",
    "order.toml": "job.order = 'widdershins': must be an order that can be worked",
    "section.toml": "unknown key; allowed: job, head, kit, room, voice",
}
"""Settings file -> what is told."""
NEEDS_SETTINGS = (
    "plan | 16 ft | 12 ft",
    "review | @whole.job",
    "hear | @ok.ogg",
    "demo | --out | @new",
    "--plain",
    "bench",
)

AUDIO = {
    "none.wav": "no such file; name a recording",
    "text.wav": "use WAV, FLAC or Ogg",
    "empty.wav": "record it again",
    "folder": "name a recording in it",
    "silence.wav": "check the microphone that recorded it",
    "cut.wav": "copy or record it again",
    "ten_minutes.flac": "an utterance has at most 60 s, cut it first",
    "x" * 300 + ".wav": "name another, or a copy of it",
}
"""Recording -> what is told."""

MODELS = {
    "none": "no such folder; name a Vosk model folder",
    "text.wav": "name a Vosk model folder",
    "folder": "name the folder of a whole one",
    "half_foreign": "name the folder of a whole one",
    "half_ours": "install pullcall again",
    "changed": "install pullcall again",
}
"""Model folder -> what is told."""

JOBS = {
    "none.job": "no such file",
    "text.job": "give a file pullcall wrote",
    "other.job": "give a file pullcall wrote",
    "folder": "",
    "cut.job": "damaged",
}
"""Job file that nothing can be read from -> what is told by review and --job."""

NO_COPY = "not one row of it can be shown, look for a copy"

OTHERS = [
    case("hear | @ok.ogg | --ask | colour", Exit.USAGE, "'colour'", "one of choose, close, confirm"),
    case("review | @whole.job | --code | zebra", Exit.USAGE, "job code: 1 word", "five words and three digits"),
    case("review | @whole.job | --out | @text.wav", Exit.NOT_WRITABLE, "@text.wav", "name another"),
    case("review | @whole.job | --out | @text.wav/under", Exit.NOT_WRITABLE, "@text.wav/under", "name another"),
    case("review | @cut.job", Exit.BAD_JOB, "@cut.job: damaged", NO_COPY),
    case("verify | @cut.job", Exit.BAD_JOB, "@cut.job: damaged", NO_COPY),
    case("--plain | --no-mic | --quiet | --new | --job | @whole.job", Exit.BAD_JOB, "@whole.job: exists", "a new file"),
    case(f"review | {'x' * 5_000}.job", Exit.NOT_WRITABLE, "xxx", "name another"),
    case("demo | --quiet | --out | @text.wav", Exit.NOT_WRITABLE, "@text.wav", "name another with --out"),
    case("demo | --quiet | --out | @text.wav/under", Exit.NOT_WRITABLE, "@text.wav/under", "name another with --out"),
    case("demo | --quiet | --out | @jobs", Exit.NOT_WRITABLE, "@jobs", "name a new folder with --out"),
    case("demo | --recordings | @none", Exit.BAD_AUDIO, "@none", "a demo folder holds a playlist.tsv"),
    case("demo | --recordings | @folder", Exit.BAD_AUDIO, "playlist.tsv", "a demo folder holds a playlist.tsv"),
]


@pytest.fixture(scope="module")
def rubbish(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of everything that can be wrong, and a few whole things beside it."""
    place = tmp_path_factory.mktemp("rubbish")
    (place / "folder").mkdir()
    _settings(place)
    _audio(place)
    _models(place)
    _jobs(place)
    return place


def _settings(place: Path) -> None:
    (place / "binary").write_bytes(b"\xff\xfe\0\x80")
    for name, text in {
        "torn.toml": "[voice\nrate = ",
        "deep.toml": "a = " + "[" * 100_000,
        "long_number.toml": "a = " + "1" * 5_000,
        "rate.toml": "[voice]\nrate = 90\n",
        "width.toml": '[head]\nwidth = "15 cubits"\n',
        "order.toml": '[job]\norder = "widdershins"\n',
        "section.toml": '["co\\nlour"]\nrate = 150\n',
    }.items():
        (place / name).write_text(text, encoding="utf-8")


def _audio(place: Path) -> None:
    shutil.copy(DEMO / "18.ogg", place / "ok.ogg")
    (place / "text.wav").write_text("no sound at all\n" * 99, encoding="utf-8")
    (place / "empty.wav").touch()
    soundfile.write(place / "silence.wav", np.zeros(16_000), 16_000)
    tone = np.sin(np.arange(8_000 * 600) / 8).astype("float32") / 4
    soundfile.write(place / "ten_minutes.flac", tone, 8_000)
    soundfile.write(place / "whole.wav", tone[:8_000], 8_000)
    (place / "cut.wav").write_bytes((place / "whole.wav").read_bytes()[:9_000])


def _models(place: Path) -> None:
    for name in ("half_ours", "changed"):
        shutil.copytree(model_folder(), place / name, copy_function=os.symlink)
    (place / "half_ours" / "am" / "final.mdl").unlink()
    changed = place / "changed" / "graph" / "words.txt"
    text = changed.read_bytes()
    changed.unlink()
    changed.write_bytes(text + b"zebra 999\n")
    (place / "half_foreign" / "am").mkdir(parents=True)


def _jobs(place: Path) -> None:
    whole = scenario.write(place / "whole.job").read_bytes()
    (trigger,) = (each for each in schema._ALL if "rows_no_update" in each)
    (place / "jobs").mkdir()
    (place / "jobs" / "earlier.job").write_bytes(whole)
    (place / "text.job").write_text("no job at all\n" * 99, encoding="utf-8")
    (place / "cut.job").write_bytes(whole[:5_000])
    (place / "empty.job").touch()
    (place / "damaged.job").write_bytes(whole)
    (place / "newer.job").write_bytes(whole)
    for name, orders in {
        "damaged.job": ("DROP TRIGGER rows_no_update", "UPDATE rows SET payload = '{}' WHERE seq = 9", trigger),
        "newer.job": ("PRAGMA user_version = 9",),
        "other.job": ("CREATE TABLE things (a)",),
    }.items():
        base = sqlite3.connect(place / name)
        for each in orders:
            base.execute(each)
        base.commit()
        base.close()


def contents(place: Path) -> dict[str, bytes]:
    """Every file but the large ones."""
    return {str(each): each.read_bytes() for each in place.rglob("*") if each.suffix in (".job", ".toml", ".html")}


def one_clear_line(err: str, thing: str, cure: str) -> None:
    """What every refusal looks like."""
    assert err.startswith("pullcall") and err.endswith("\n") and err.count("\n") == 1
    assert "Traceback" not in err and len(err) < 1_200
    assert thing in err
    assert cure in err


def refused(capsys: Capture, case: Case, place: Path) -> None:
    """Run it; a line and the code are all it leaves behind."""
    before = contents(place)
    assert main([each.replace("@", f"{place}/") for each in case.arguments]) == case.code
    shown = capsys.readouterr()
    assert shown.out == ""
    one_clear_line(shown.err, case.thing.replace("@", f"{place}/"), case.cure)
    assert contents(place) == before


@pytest.mark.parametrize("case", [*SIZES, *OTHERS], ids=str)
def test_one_clear_line(capsys: Capture, rubbish: Path, case: Case) -> None:
    refused(capsys, case, rubbish)


@pytest.mark.parametrize("command", NEEDS_SETTINGS)
@pytest.mark.parametrize("name", SETTINGS, ids=lambda name: name[:20])
def test_bad_settings_stop_every_command(capsys: Capture, rubbish: Path, name: str, command: str) -> None:
    call = f"--settings | @{name} | {command}"
    refused(capsys, case(call, Exit.BAD_SETTINGS, f"settings {rubbish}/{name[:9]}", SETTINGS[name]), rubbish)
    assert not (rubbish / "new").exists()


def test_bad_settings_by_the_environment(capsys: Capture, rubbish: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("folder", "binary", "rate.toml", "x" * 5_000):
        monkeypatch.setenv("PULLCALL_SETTINGS", str(rubbish / name))
        refused(capsys, case("plan | 16 ft | 12 ft", Exit.BAD_SETTINGS, "settings", SETTINGS[name]), rubbish)


def test_an_account_without_a_home_has_the_defaults(monkeypatch: pytest.MonkeyPatch) -> None:
    def homeless() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("PULLCALL_SETTINGS", raising=False)
    monkeypatch.setattr(Path, "home", homeless)
    assert read_settings() == Settings()


@pytest.mark.parametrize("name", AUDIO, ids=lambda name: name[:20])
def test_bad_recordings_at_hear(capsys: Capture, rubbish: Path, name: str) -> None:
    refused(capsys, case(f"hear | @{name}", Exit.BAD_AUDIO, f"{rubbish}/{name}", AUDIO[name]), rubbish)


def test_a_bad_recording_does_not_keep_the_others_from_being_heard(capsys: Capture, rubbish: Path) -> None:
    files = [str(rubbish / each) for each in ("text.wav", "ok.ogg", "none.wav")]
    assert main(["hear", *files]) == Exit.BAD_AUDIO
    out, err = capsys.readouterr()
    assert out.startswith(f"{rubbish}/ok.ogg: 'three quarters'") and out.count("\n") == 1
    assert [line.split(": ")[1] for line in err.splitlines()] == [files[0], files[2]]


@pytest.mark.parametrize("name", AUDIO, ids=lambda name: name[:20])
def test_a_bad_recording_amid_the_playlist_keeps_what_was_answered(
    capsys: Capture, rubbish: Path, tmp_path: Path, name: str
) -> None:
    shutil.copy(DEMO / "01.ogg", tmp_path)
    rows = ("file\tvoice\tnoise", "01.ogg\ta\t", f"{rubbish / name}\tb\t", "01.ogg\tc\t")
    (tmp_path / "playlist.tsv").write_text("\n".join(rows), encoding="utf-8")
    call = ["demo", "--quiet", "--out", str(tmp_path / "out"), "--recordings", str(tmp_path)]
    assert main(call) == Exit.BAD_AUDIO
    out, err = capsys.readouterr()
    one_clear_line(err, f"{rubbish}/{name}", AUDIO[name])
    assert "[ 1/3] a:" in out and "[ 2/3]" not in out
    assert whole_rows(tmp_path / "out" / "demo.job").count("said") == 1


def whole_rows(path: Path) -> list[str]:
    """Kinds of the rows of a job file that is sound, let go of, and can be gone on with."""
    found = read_job(path)
    assert found.damage == ""
    resume_job(path, ScriptedClock()).close()
    return [each.kind for each in found.rows]


@pytest.mark.parametrize("command", ["hear | @ok.ogg", "demo | --quiet | --out | @new"])
@pytest.mark.parametrize("name", MODELS)
def test_bad_models(capsys: Capture, rubbish: Path, name: str, command: str) -> None:
    refused(capsys, case(f"{command} | --model | @{name}", Exit.BAD_MODEL, f"{rubbish}/{name}", MODELS[name]), rubbish)
    assert not (rubbish / "new").exists() and not (rubbish / "new.job").exists()


@pytest.mark.parametrize(
    ("name", "command"),
    [*((name, "review") for name in JOBS), *((name, "--job") for name in JOBS if name != "none.job")],  # begun there
)
def test_jobs_that_cannot_be_read(capsys: Capture, rubbish: Path, name: str, command: str) -> None:
    refused(capsys, case(f"{command} | @{name}", Exit.BAD_JOB, f"{rubbish}/{name}", JOBS[name]), rubbish)


@pytest.mark.parametrize(("name", "told"), [("damaged.job", "row 9 was changed"), ("newer.job", "a newer pullcall")])
def test_damaged_and_newer_jobs_are_shown_but_not_gone_on_with(
    capsys: Capture, rubbish: Path, tmp_path: Path, name: str, told: str
) -> None:
    refused(capsys, case(f"--job | @{name}", Exit.BAD_JOB, f"{rubbish}/{name}", "review"), rubbish)
    before = (rubbish / name).read_bytes()
    assert main(["review", str(rubbish / name), "--out", str(tmp_path)]) == Exit.FINDINGS
    out, err = capsys.readouterr()
    assert err == "" and told in out
    assert (rubbish / name).read_bytes() == before


def test_an_empty_job_is_said_to_be_empty(capsys: Capture, rubbish: Path) -> None:
    assert main(["review", str(rubbish / "empty.job")]) == Exit.FINDINGS
    out, err = capsys.readouterr()
    assert (out.count("\n"), err) == (1, "")
    assert f"{rubbish}/empty.job: an empty job file" in out


@pytest.mark.parametrize("command", ["review", "--job"])
def test_a_job_held_by_another_run(capsys: Capture, rubbish: Path, tmp_path: Path, command: str) -> None:
    held = begin_job(tmp_path / "a.job", ScriptedClock())
    held.append([("a", "{}")])
    assert main([command, str(tmp_path / "a.job")]) == Exit.JOB_BUSY
    out, err = capsys.readouterr()
    one_clear_line(err, f"{tmp_path}/a.job", "end it there first")
    assert out == "" and held.append([("b", "{}")]) == 2
    held.close()


def test_a_new_job_in_a_missing_folder(capsys: Capture, rubbish: Path) -> None:
    refused(capsys, case("--job | @none/a.job", Exit.NOT_WRITABLE, "@none/a.job", "make it first"), rubbish)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "file\tvoice\tnoise\n01\udcff.ogg\ta\t\n",
        "file\tvoice\tnoise\n",
        "file\tvoice\n01.ogg\ta\n",
        "file\tvoice\tnoise\n01.ogg\n",
        "file\tvoice\tnoise\n0\0 1.ogg\ta\t\n",
        f"file\tvoice\tnoise\n{'x' * (csv.field_size_limit() + 1)}\ta\t\n",
    ],
    ids=["empty", "no text", "no rows", "no noise", "short row", "nul", "endless field"],
)
def test_broken_playlists(capsys: Capture, tmp_path: Path, text: str) -> None:
    (tmp_path / "playlist.tsv").write_bytes(text.encode("utf-8", "surrogateescape"))
    call = case("demo | --recordings | @", Exit.BAD_AUDIO, f"{tmp_path}/playlist.tsv", "file, voice and noise")
    refused(capsys, call, tmp_path)


def test_unicode_digits_are_digits(capsys: Capture) -> None:
    shown = []
    for sides in (("16 ft", "12 ft"), ("１６ ft", "١٢ ft")):
        assert main(["plan", *sides]) == Exit.DONE
        shown.append(capsys.readouterr())
    assert shown[0] == shown[1]


# As a program: streams, signals, disks.


def program(
    *arguments: str, shell: str = "", cwd: Path | None = None, **extra: str
) -> subprocess.CompletedProcess[str]:
    """Run pullcall, through `shell` where streams are to be odd: "$@" stands for it there."""
    call = [sys.executable, "-c", PROGRAM, *arguments]
    # Buffered, as a user's Python is: what cannot be written is then found out late.
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1]), "PYTHONUNBUFFERED": "", **extra}
    whole = ["sh", "-c", shell, "sh", *call] if shell else call
    return subprocess.run(
        whole, capture_output=True, text=True, errors="replace", timeout=100, env=environment, cwd=cwd
    )


@posix
def test_a_reader_that_has_seen_enough() -> None:
    done = program("plan", "99 ft", "99 ft", shell='{ sleep 1; "$@"; echo "code $?" >&2; } | true')
    assert done.stderr == f"code {int(Exit.NOT_WRITABLE)}\n"
    done = program("plan", "99 ft", "99 ft", shell='"$@" | head -1')
    assert done.stdout == "room      99 ft door to far, 99 ft left to right\n"
    assert done.stderr == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_output_that_cannot_be_written() -> None:
    done = program("plan", "16 ft", "12 ft", shell='"$@" > /dev/full')
    assert done.returncode == Exit.NOT_WRITABLE
    one_clear_line(done.stderr, "output: No space left", "name another place")


@posix
def test_closed_streams_and_what_is_opened_in_their_place(tmp_path: Path) -> None:
    """With stderr closed a line of talk must not land among the data, nor data in a file that got its number."""
    done = program("plan", "16 ft", "x", shell='"$@" 2>&-')
    assert (done.returncode, done.stdout) == (Exit.BAD_SIZE, "")
    job = scenario.write(tmp_path / "a.job")
    before = job.read_bytes()
    done = program("review", str(job), shell='"$@" <&- >&- 2>&-')
    assert (done.returncode, done.stdout, done.stderr) == (Exit.DONE, "", "")
    assert job.read_bytes() == before
    assert (tmp_path / "a.html").read_text(encoding="utf-8").startswith("<!")


@posix
@pytest.mark.parametrize("charset", ["utf-8", "ascii"])
def test_odd_file_names_are_shown_on_any_terminal(tmp_path: Path, charset: str) -> None:
    names = [os.fsdecode(b"odd\xff.ogg"), "two\nlines.ogg", "-3ft.ogg", "größe.ogg"]
    try:
        for each in names:
            shutil.copy(DEMO / "18.ogg", tmp_path / each)
    except OSError:
        pytest.skip("this file system takes no such names")
    files = [*names, os.fsdecode(b"none\xff.ogg")]
    done = program("hear", *files, cwd=tmp_path, PYTHONIOENCODING=f"{charset}:strict", LC_ALL="C.UTF-8")
    assert done.returncode == Exit.BAD_AUDIO
    one_clear_line(done.stderr, r"none\udcff.ogg", "no such file")
    heads = [line.split(": ")[0] for line in done.stdout.splitlines()]
    last = "größe.ogg" if charset == "utf-8" else r"gr\xf6\xdfe.ogg"
    assert heads == [r"odd\udcff.ogg", r"two\nlines.ogg", "-3ft.ogg", last]


@posix
def test_control_c_in_a_demo(tmp_path: Path) -> None:
    """From the keyboard it reaches the voice's process, too."""
    call = [sys.executable, "-c", PROGRAM, "demo", "--out", str(tmp_path)]
    pipe = subprocess.PIPE
    with subprocess.Popen(call, stdout=pipe, stderr=pipe, start_new_session=True, text=True) as running:
        assert running.stdout is not None
        shown = []
        for line in running.stdout:
            shown.append(line)
            if line.startswith("[ 3/"):
                break
        os.killpg(running.pid, signal.SIGINT)
        rest, err = running.communicate(timeout=60)
    assert (running.returncode, err) == (Exit.STOPPED, "pullcall: stopped\n")
    assert whole_rows(tmp_path / "demo.job").count("said") >= said("".join(shown) + rest) - 1 >= 1


def said(out: str) -> int:
    """Utterances with words that a demo has shown."""
    return sum(text not in ("(noise)", "(nothing)") for text in re.findall(r"(?m)^\[ ?\d+/\d+\] [^:]*: (.*)$", out))


@pytest.fixture
def disk(tmp_path: Path) -> Callable[[str, str], subprocess.CompletedProcess[str]]:
    """Run Python lines in `tmp_path` with a small disk mounted at 'disk': remounts bind root, permissions do not."""
    (tmp_path / "disk").mkdir()
    probe = ["unshare", "-rm", "mount", "-t", "tmpfs", "none", str(tmp_path / "disk")]
    if not shutil.which("unshare") or subprocess.run(probe, capture_output=True).returncode:
        pytest.skip("mounting in a name space of its own is not allowed here")

    def run(mounting: str, lines: str) -> subprocess.CompletedProcess[str]:
        shell = f"mount -t tmpfs {mounting} && exec '{sys.executable}' -c \"$0\""
        environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])}
        call = ["unshare", "-rm", "sh", "-c", shell, f"from assistant.cli import main\n{lines}"]
        return subprocess.run(call, capture_output=True, text=True, cwd=tmp_path, env=environment, timeout=100)

    return run


def test_a_disk_that_fills_in_the_middle(disk: Callable[[str, str], subprocess.CompletedProcess[str]]) -> None:
    lines = (
        "from pathlib import Path; from assistant.record.reading import read_job\n"
        "code = main(['demo', '--quiet', '--out', 'disk/out'])\n"
        "found = read_job(Path('disk/out/demo.job'))\n"
        "print('LEFT', code, [each.kind for each in found.rows].count('said'), repr(found.damage))"
    )
    done = disk("-o size=24k none disk", lines)
    one_clear_line(done.stderr, "disk/out/demo.job: the disk is full", "make room and say it again")
    shown = done.stdout[: done.stdout.rindex("LEFT")]
    acknowledged = said(shown[: shown.rindex("\n[")])
    assert acknowledged > 0
    assert done.stdout.endswith(f"LEFT {int(Exit.NOT_WRITABLE)} {acknowledged} ''\n")


def test_a_disk_that_is_full_from_the_beginning(disk: Callable[[str, str], subprocess.CompletedProcess[str]]) -> None:
    lines = (
        "from pathlib import Path\n"
        "Path('disk/fill').write_bytes(bytes(60 * 1024))\n"
        "print('LEFT', main(['demo', '--quiet', '--out', 'disk/out']))"
    )
    done = disk("-o size=64k none disk", lines)
    assert done.stdout == f"LEFT {int(Exit.NOT_WRITABLE)}\n"
    one_clear_line(done.stderr, "disk/out/demo.job: the disk is full", "make room")


def test_a_disk_that_is_read_only(tmp_path: Path, disk: Callable[[str, str], subprocess.CompletedProcess[str]]) -> None:
    scenario.write(tmp_path / "a.job")
    lines = (
        "import sys; from pathlib import Path\n"
        "before = Path('disk/a.job').read_bytes()\n"
        "codes = [main(['demo', '--out', 'disk/out']), main(['review', 'disk/a.job'])]\n"
        "codes += [main(['review', 'disk/a.job', '--out', 'beside'])]\n"
        "print('LEFT', codes, Path('disk/a.job').read_bytes() == before)"
    )
    done = disk("none disk && cp a.job disk && mount -o remount,ro disk", lines)
    demo, review = done.stderr.splitlines(keepends=True)
    one_clear_line(demo, "disk/out", "name another with --out")
    one_clear_line(review, "disk/a.html", "another folder")
    assert done.stdout.endswith("LEFT [10, 10, 0] True\n")
    assert (tmp_path / "beside" / "a.html").is_file()


# Any text at all: a value or a refusal, nothing else.

TAPE = st.text(alphabet="0123456789 ./-−'\"′″ftinydcmeE½١６%\n", max_size=80)
TOML = st.text(alphabet="[]={}\"'#.,\\\n \tabnfrtu0123456789+-_:Z", max_size=200)
KEYS = st.sampled_from(["job.order", "head.width", "head.gap_least", "head.gap_most", "voice.rate", "voice.x", "y"])
VALUES = st.one_of(
    st.integers().map(str),
    st.floats().map(str),
    st.sampled_from(["true", "[]", "{}", "1979-05-27", "'3 in'", "'cross_length_cross'", "'../x'", "'\\u0000'"]),
    st.text(alphabet=st.characters(blacklist_categories=["Cs", "Cc"], blacklist_characters="'"), max_size=20).map(
        lambda text: f"'{text}'"
    ),
)
ROWS = st.lists(st.text(alphabet='filevocns.\t\n\r"\0\x85 é', max_size=40), max_size=5).map("\n".join)


def value_or_refusal(read: Callable[[], object], code: Exit) -> object:
    try:
        return read()
    except Refusal as refusal:
        assert refusal.code is code
        assert refusal.line.isprintable() and len(refusal.line) < 1_000
        return None


@given(st.one_of(TAPE, st.text()))
def test_any_text_is_a_length_or_refused(text: str) -> None:
    found = value_or_refusal(lambda: read_length(text), Exit.BAD_SIZE)
    if found is not None:
        assert isinstance(found, tuple)
        length, system = found
        assert isinstance(length, Length) and length.inches > 0 and isinstance(system, System)


@given(st.one_of(TAPE, st.text(), st.text(alphabet="0123456789.-/ %", max_size=12)))
def test_any_text_is_a_figure_or_refused(text: str) -> None:
    found = value_or_refusal(lambda: read_figure(text), Exit.BAD_SIZE)
    if found is not None:
        assert isinstance(found, Figure) and 0 < found.least <= (found.most or found.least) <= 10


@given(st.one_of(TOML, st.text(), st.lists(st.tuples(KEYS, VALUES).map(" = ".join), max_size=4).map("\n".join)))
def test_any_text_is_settings_or_refused(rubbish: Path, text: str) -> None:
    file = rubbish / "any.toml"
    file.write_bytes(text.encode("utf-8", "surrogatepass"))
    found = value_or_refusal(lambda: read_settings(file), Exit.BAD_SETTINGS)
    assert found is None or isinstance(found, Settings)


@given(st.one_of(st.text(), ROWS, ROWS.map(lambda rows: f"file\tvoice\tnoise\n{rows}")))
def test_any_text_is_a_playlist_or_refused(rubbish: Path, text: str) -> None:
    (rubbish / "playlist.tsv").write_bytes(text.encode("utf-8", "surrogatepass"))
    found = value_or_refusal(lambda: read_playlist(rubbish), Exit.BAD_AUDIO)
    assert found is None or (isinstance(found, tuple) and found)
