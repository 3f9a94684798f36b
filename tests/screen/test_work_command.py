"""`pullcall` alone, as a process: plain lines, what is missing, resuming, choosing a job, the pedal's settings."""

import os
import subprocess
import sys
import threading
from io import BytesIO, StringIO, TextIOWrapper
from pathlib import Path
from shlex import split
from types import SimpleNamespace
from typing import Any

import pytest

from assistant.cli import main
from assistant.core import events as ev
from assistant.exits import Exit, Refusal
from assistant.job_shelf import Unfinished, named, new_path, unfinished, which_job
from assistant.orders import read_order
from assistant.pedal_setting import keep_pedal, with_pedal
from assistant.practice.rehearsal import Rehearsal
from assistant.record.clock import SystemClock
from assistant.record.codec import decode, encode
from assistant.record.job_file import begin_job, resume_job
from assistant.record.reading import read_job
from assistant.screen.plain import answer, lines_of, listed
from assistant.settings import Settings, read_settings
from assistant.sitting import Sitting
from assistant.speaker import Speaker
from assistant.work_command import _PlainScreen, can_draw
from tests.conftest import SETUP
from tests.screen.conftest import FullOnce

PULLCALL = [sys.executable, "-c", "import sys; from assistant.cli import main; sys.exit(main())"]
TREE = Path(__file__).parents[2]
SILENT = ("--no-mic", "--quiet", "--plain")


def pullcall(folder: Path, typed: str, *options: str) -> subprocess.CompletedProcess[str]:
    environment = os.environ | {"PYTHONPATH": str(TREE), "PULLCALL_SETTINGS": str(folder / "settings.toml")}
    (folder / "settings.toml").touch()
    command = [*PULLCALL, *options]
    return subprocess.run(command, cwd=folder, env=environment, input=typed, capture_output=True, text=True, timeout=60)


def said(job: Path) -> list[str]:
    events = [decode(row.kind, row.payload) for row in read_job(job).rows]
    return [each.text for each in events if isinstance(each, ev.Said)]


TYPED = """427
k1
k1
the same
skip the rest
9 ft
yes
k1
8 ft 6 in
k1
k1
no openings
k1
k1
ready
"""


def test_a_job_is_typed_in_plain_lines_left_and_resumed(tmp_path: Path) -> None:
    first = pullcall(tmp_path, TYPED + "1/2 in\n", *SILENT)
    assert first.returncode == Exit.DONE, first.stderr
    assert "Verdict: ▼ short 9/16 in" in first.stdout
    assert first.stderr.splitlines() == [
        "pullcall: job in carpet.job",
        "pullcall: the job is kept; resume it with: pullcall --job carpet.job",
    ]
    assert "k1 Reading" in pullcall(tmp_path, "k1\nlist\n", *SILENT).stdout
    second = pullcall(tmp_path, "1 1/4\nhooked\n1 3/16\n" + "skip doorway\nready\n" * 12 + "skip doorway\n", *SILENT)
    assert "Job 427   pass 1 of 3   pull 1 of" in second.stdout
    third = pullcall(tmp_path, "k1\n", *SILENT)
    assert "Job code: " in third.stdout
    assert "job code" in third.stdout.splitlines()[-4] or "written" in third.stdout
    assert (tmp_path / "carpet.html").exists()
    assert said(tmp_path / "carpet.job")[:5] == [
        "job four two seven",
        "tufted synthetic",
        "no figure",
        "the same",
        "skip the rest",
    ]
    assert pullcall(tmp_path, "", *SILENT).stderr.splitlines()[0] == "pullcall: job in carpet-2.job"


def test_the_threads_share_their_memory_from_before_the_second_one(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    before = threading.active_count()
    threads = list[int]()
    monkeypatch.setattr("assistant.cli.share_one_arena", lambda: threads.append(threading.active_count()))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PULLCALL_SETTINGS", str(tmp_path / "none.toml"))
    monkeypatch.setattr(sys, "stdin", StringIO(""))
    assert main([*SILENT, "--job", "new.job"]) == Exit.DONE
    assert threads == [before]


def test_what_is_no_text_is_not_understood_and_the_job_goes_on(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A terminal set to another encoding than the program's: 'größe' in Latin-1."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PULLCALL_SETTINGS", str(tmp_path / "none.toml"))
    monkeypatch.setattr(sys, "stdin", TextIOWrapper(BytesIO(b"gr\xf6\xdfe\n427\n"), encoding="utf-8"))
    assert main([*SILENT, "--job", "odd.job"]) == Exit.DONE
    assert "job four two seven" in said(tmp_path / "odd.job")
    assert "resume it with: pullcall --job odd.job" in capsys.readouterr().err


def test_with_the_disk_full_the_line_may_be_typed_again(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    store, screen = FullOnce(), _PlainScreen()
    sitting = Sitting(store, lambda: Settings().started("0", "none"), Speaker(None, None, print), screen.tell)
    monkeypatch.setattr(sys, "stdin", StringIO("41\nlist\n41\n"))
    work: Any = SimpleNamespace(sitting=sitting, start=sitting.start)
    shown = threading.Thread(target=screen.show, args=(work,), daemon=True)
    shown.start()
    shown.join(10)
    assert not shown.is_alive(), "it waits for the answer to a line that was not taken"
    sitting.end()
    named = [decode(kind, payload) for kind, payload in store.rows() if kind == "job_named"]
    assert named == [ev.JobNamed("41")]
    assert "the disk is full" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["hall", "flat 2.3", "a.txt", "ann's hall"])
def test_a_job_named_without_its_ending_is_found_again(tmp_path: Path, name: str) -> None:
    """By that name, by `pullcall` alone, and by whoever looks at the folder."""
    first = pullcall(tmp_path, "job one\n", "--job", name, *SILENT)
    begun, kept = first.stderr.splitlines()
    assert begun == f"pullcall: job in {name}.job"
    assert split(kept.partition("resume it with: ")[2]) == ["pullcall", "--job", f"{name}.job"], "can be pasted"
    for options in (("--job", name), ()):
        assert "Job 1" in pullcall(tmp_path, "", *options, *SILENT).stdout
    assert [each.path.name for each in unfinished(tmp_path)] == [f"{name}.job"]


def test_a_file_that_is_there_is_taken_by_its_name(tmp_path: Path) -> None:
    begin_job(tmp_path / "old", SystemClock()).close()
    (tmp_path / "a.txt").write_text("notes")
    assert (named(tmp_path / "old"), named(tmp_path / "a.job")) == (tmp_path / "old", tmp_path / "a.job")
    assert "a.txt: not a job file" in pullcall(tmp_path, "", "--job", "a.txt", *SILENT).stderr
    assert (tmp_path / "a.txt").read_text() == "notes"
    assert named(tmp_path) == tmp_path, "a folder, to be refused as one"


def test_an_empty_file_is_no_job_and_stays_empty(tmp_path: Path) -> None:
    """But for one that ends in .job, as a killed beginning leaves it: that job is gone on with."""
    for name in ("a.txt", "a.job"):
        (tmp_path / name).touch()
    done = pullcall(tmp_path, "job one\n", "--job", "a.txt", *SILENT)
    assert done.stderr.splitlines()[0] == "pullcall: job in a.txt.job"
    assert (tmp_path / "a.txt").read_bytes() == b""
    assert named(tmp_path / "a.job") == tmp_path / "a.job"


def test_what_is_missing_is_named_with_the_one_thing_to_do(tmp_path: Path) -> None:
    """No terminal here; and where this machine has no devices, no ears and no voice either."""
    done = pullcall(tmp_path, "", "--device", "nobody has this one")
    told = done.stderr.splitlines()
    assert done.returncode == Exit.DONE
    assert "pullcall: no terminal to draw on: going on in plain lines, as with --plain" in told
    assert any(each.startswith("pullcall: ! microphone: ") and "tap or type" in each for each in told)
    assert "Job number?" in done.stdout
    asked_for = pullcall(tmp_path, "", "--new", *SILENT)
    assert asked_for.stderr.splitlines()[0] == "pullcall: job in carpet-2.job"
    assert "no ears" not in asked_for.stderr


def test_a_model_that_cannot_be_read_leaves_a_job_to_be_tapped(tmp_path: Path) -> None:
    done = pullcall(tmp_path, "job one\n", "--quiet", "--plain", "--model", "nowhere")
    assert "no ears: " in done.stderr
    assert said(tmp_path / "carpet.job") == ["job one"]


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (["--plain", "plan", "16 ft", "12 ft"], "pullcall: --plain goes with no command, or behind it"),
        (["--job", "a.job", "bench"], "pullcall: --job goes with no command, or behind it"),
        (["--quiet", "demo"], "pullcall: --quiet goes with no command, or behind it"),
    ],
)
def test_an_option_before_a_command_is_not_silently_dropped(
    options: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stop:
        main(options)
    assert stop.value.code == Exit.USAGE
    assert capsys.readouterr().err.startswith(told)


@pytest.mark.parametrize(
    ("terminals", "term", "draws"),
    [
        ((True, True, True), "xterm", True),
        ((False, True, True), "xterm", False),
        ((True, False, True), "xterm", False),
        ((True, True, False), "xterm", False),
        ((True, True, True), "dumb", False),
        ((True, True, True), "", False),
    ],
)
def test_it_draws_only_where_every_stream_is_a_terminal_that_can(
    terminals: tuple[bool, bool, bool], term: str, draws: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Drawing goes to stderr, so `2>log` must not fill the log with it."""
    for name, is_one in zip(("stdin", "stdout", "stderr"), terminals, strict=True):
        monkeypatch.setattr(sys, name, SimpleNamespace(isatty=lambda is_one=is_one: is_one))
    monkeypatch.setenv("TERM", term)
    can = can_draw()
    monkeypatch.undo()
    assert can == draws


# --- Which job --------------------------------------------------------------------------------------------------


def job(folder: Path, name: str, *sentences: str, program: str = "test") -> Path:
    rehearsal = Rehearsal()
    if sentences:
        rehearsal.say(*sentences)
    rows = list(rehearsal.conversation._store.rows())
    store = begin_job(folder / name, SystemClock())
    store.append([encode(ev.Started(program, "none", read_order())), *rows[1:]])
    store.close()
    return folder / name


def finished(folder: Path, name: str) -> Path:
    rehearsal = Rehearsal()
    rehearsal.say(*SETUP)
    while rehearsal.panel.ask != "close":
        rehearsal.say("ready" if rehearsal.panel.ask == "ready" else "skip doorway")
    rehearsal.say("finish job")
    store = begin_job(folder / name, SystemClock())
    store.append(list(rehearsal.conversation._store.rows()))
    store.close()
    return folder / name


def test_unfinished_jobs_are_found_the_newest_first(tmp_path: Path) -> None:
    for age, made in enumerate(
        (job(tmp_path, "b.job", "job seven"), job(tmp_path, "a.job"), finished(tmp_path, "c.job"))
    ):
        os.utime(made, (1_700_000_000 - age, 1_700_000_000 - age))
    job(tmp_path, "practice.job", program="PRACTICE on simulated carpet 1, pullcall 0")
    (tmp_path / "odd.job").write_text("no job file", encoding="utf-8")
    (tmp_path / "folder.job").mkdir()
    held = resume_job(job(tmp_path, "held.job"), SystemClock())
    found = unfinished(tmp_path)
    held.close()
    carpet = "What carpet? Tufted, woven, jute, unitary or attached cushion."
    assert found == (
        Unfinished(tmp_path / "b.job", "7", carpet),
        Unfinished(tmp_path / "a.job", "", "Job number?"),
    )


def test_a_job_left_at_a_yes_is_listed_with_its_question_not_with_its_digits(tmp_path: Path) -> None:
    job(tmp_path, "b.job", *SETUP[:11], "three metres sixty")
    (found,) = unfinished(tmp_path)
    assert found.question == "Length 3.6 m. Yes or no?"


def test_one_unfinished_job_is_resumed_and_several_are_asked_about(tmp_path: Path) -> None:
    asked: list[str] = []

    def ask(question: str) -> str:
        asked.append(question)
        return answers.pop(0)

    answers: list[str] = []
    assert which_job(tmp_path, ask) == tmp_path / "carpet.job"
    one = job(tmp_path, "one.job", "job one")
    os.utime(one, (1_700_000_000, 1_700_000_000))
    assert which_job(tmp_path, ask) == one
    two = job(tmp_path, "two.job")
    assert which_job(tmp_path, None) == two, "nobody to ask: the newest"
    assert asked == []
    for typed, expected in (("2", one), ("", two), ("0", tmp_path / "carpet.job"), ("9 x 1", two)):
        answers[:] = typed.split(" ") if typed else [""]
        assert which_job(tmp_path, ask) == expected
    assert "  1  two.job, job without a number: Job number?" in asked[0]
    assert asked[-1] == "'x': a number from 0 to 2: "


def test_a_new_job_gets_a_name_nobody_has(tmp_path: Path) -> None:
    assert new_path(tmp_path).name == "carpet.job"
    (tmp_path / "carpet.job").touch()
    (tmp_path / "carpet-2.job").touch()
    assert new_path(tmp_path).name == "carpet-3.job"


# --- Plain lines ------------------------------------------------------------------------------------------------


def test_plain_lines_say_the_verdict_in_words_and_a_shape() -> None:
    text = list(lines_of(Rehearsal().say(*SETUP, "one inch")))
    assert "heard: one inch" in text
    assert "Verdict: ▼ short 1/2 in" in text
    assert "Do: Another bite" in text
    assert "Job 427   pass 1 of 3   pull 1 of 17   right wall" in text
    assert text[-1] == "Type k1, k2, k3 or the words: k1 Reading (one and five eighths), k2 Hooked, k3 list"
    assert "not understood: mumble" in list(lines_of(Rehearsal().say(*SETUP, "mumble")))


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("k2\n", "hooked"),
        ("K1", ("Reading: type it, for example: one and five eighths",)),
        ("k9", ("There is no such key.",)),
        ("k0", ("There is no such key.",)),
        ("1 5/8", "one and five eighths"),
        ("1 5/8 IN", "one and five eighths inches"),
        ("One  Inch", "one inch"),
        ("head 3 in", "head three inches"),
        ("head three inches", "head three inches"),
        ("strawberry", "strawberry"),
    ],
)
def test_a_typed_line_is_a_key_a_figure_or_a_sentence(typed: str, meant: str | tuple[str, ...]) -> None:
    job = Rehearsal()
    assert answer(job.say(*SETUP), typed, job) == meant


def test_the_list_and_a_key_that_is_not_there() -> None:
    job = Rehearsal()
    panel = job.say(*SETUP, "pause")
    assert answer(panel, "list", job) == listed(panel) == ("  resume",)
    assert answer(panel, "k3", job) == ("There is no such key.",)
    panel = job.say("resume")
    assert answer(panel, "k3", job) == listed(panel)


# --- Settings ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "before",
    [
        "",
        "# mine\n[voice]\nrate = 130 # slow\n",
        '[pedal]\nkeys = ["x", "y", "z"] # old\n[voice]\nrate = 130\n',
        "[pedal] # none yet\n\n[voice]\nrate = 130\n",
        '[voice]\nrate = 130\n\n[pedal]\nkeys = [\n  "x",\n  "y",\n  "z",\n]\n',
    ],
)
def test_the_pedal_is_kept_and_every_other_line_stays(before: str, tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    if before:
        file.write_text(before, encoding="utf-8")
    keep_pedal(file, ("f13", "a", "quotation_mark"))
    found = read_settings(file)
    assert found.pedal == ("f13", "a", "quotation_mark")
    assert found.rate == (130 if "rate" in before else Settings().rate)
    assert [line for line in before.splitlines() if line.startswith("#")] == [
        line for line in file.read_text(encoding="utf-8").splitlines() if line.startswith("#")
    ]
    assert "rate = 130 # slow" in with_pedal(before, ("a", "b", "c")) or "slow" not in before


def test_the_talk_key_is_kept_as_the_pedals_fourth(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    keep_pedal(file, ("f13", "a", "b", "f16"))
    assert read_settings(file).pedal == ("f13", "a", "b", "f16")


def test_a_settings_file_that_cannot_take_the_pedal_is_named(tmp_path: Path) -> None:
    with pytest.raises(Refusal) as missing:
        keep_pedal(tmp_path / "none" / "settings.toml", ("a", "b", "c"))
    assert missing.value.code is Exit.NOT_WRITABLE
    file = tmp_path / "settings.toml"
    file.write_text("pedal = 3\n", encoding="utf-8")
    with pytest.raises(Refusal) as odd:
        keep_pedal(file, ("a", "b", "c"))
    assert odd.value.code is Exit.BAD_SETTINGS
    assert file.read_text(encoding="utf-8") == "pedal = 3\n"


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ('[screen]\ntheme = "pink"\n', "screen.theme = 'pink': must be one of dark, light"),
        ('[pedal]\nkeys = ["a", "b"]\n', "pedal.keys"),
        ('[pedal]\nkeys = ["a", "b", "b"]\n', "three different"),
        ("[pedal]\nkeys = 3\n", "pedal.keys = 3"),
        ('[pedal]\nkeys = ["a", "b", "c", "d", "e"]\n', "or four: the last one talks"),
        ('[pedal]\nkeys = ["a", "", "c"]\n', "pedal.keys"),
    ],
)
def test_wrong_screen_settings_are_named(text: str, named: str, tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(Refusal) as wrong:
        read_settings(file)
    assert wrong.value.code is Exit.BAD_SETTINGS
    assert named in wrong.value.line


def test_the_light_theme_can_be_set(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('[screen]\ntheme = "light"\n', encoding="utf-8")
    assert read_settings(file).theme == "light"
