"""The command line: thin. stdout carries what was asked for, talk goes to stderr."""

import argparse
import contextlib
import io
import os
import re
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from assistant import __version__
from assistant.exits import Exit, Refusal, one_line
from assistant.memory import share_one_arena
from assistant.settings import Settings, read_settings
from assistant.work_options import add_options as add_work_options
from assistant.work_options import stray_options

Command = Callable[[argparse.Namespace, Settings], Exit]
KEEP_AUDIO = "keep the sound of each utterance beside the job (otherwise none is kept)"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is one of assistant.exits.Exit."""
    share_one_arena()
    _ready_streams()
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.command is not _work and (stray := stray_options(options)):
        parser.error(f"{stray} goes with no command, or behind it")
    command: Command = options.command
    try:
        code = command(options, read_settings(options.settings))
        sys.stdout.flush()
    except Refusal as refusal:
        code = _refused(refusal)
    except KeyboardInterrupt:
        print("pullcall: stopped", file=sys.stderr)
        code = Exit.STOPPED
    except OSError as error:
        code = _system_refused(error)
    return int(code)


def _refused(refusal: Refusal) -> Exit:
    print(f"pullcall: {refusal.line}", file=sys.stderr)
    return refusal.code


def _system_refused(error: OSError) -> Exit:
    """What nothing nearer has put into words: output that nobody reads, a full disk behind it, an impossible name."""
    if error.filename is None:
        # Python would try once more at its end, and fail aloud.
        with contextlib.suppress(OSError), Path(os.devnull).open("w", encoding="utf-8") as nowhere:
            os.dup2(nowhere.fileno(), sys.stdout.fileno())
    if isinstance(error, BrokenPipeError):
        return Exit.NOT_WRITABLE  # the reader has seen enough, as in `| head`: no word about it
    if isinstance(error, FileNotFoundError) and error.filename is None:
        return _refused(Refusal(Exit.NOT_WRITABLE, "this folder: was removed meanwhile; change to another"))
    thing = "output" if error.filename is None else os.fsdecode(error.filename)
    return _refused(Refusal(Exit.NOT_WRITABLE, f"{thing}: {error.strerror or error}; mend that or name another place"))


def _ready_streams() -> None:
    """A closed stream leads nowhere, or else an opened job file might take its place; no sign is too odd to print."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), mode, encoding="utf-8"))
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")  # what is no text is not understood, and no reason to end
    if isinstance(sys.stdout, io.TextIOWrapper) and sys.stdout.errors == "strict":
        sys.stdout.reconfigure(errors="backslashreplace")


class _Parser(argparse.ArgumentParser):
    """Wrong calls are told in one line, and '-3ft' is a length below zero, not an option."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self._negative_number_matcher = re.compile(r"-\.?\d")

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and end the program."""
        self.exit(Exit.USAGE, f"{self.prog}: {one_line(message)}; '{self.prog} --help' shows how\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="pullcall", description=_description(), epilog=_codes())
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("--version", action="version", version=f"pullcall {__version__}")
    parser.add_argument("--settings", type=Path, metavar="FILE", help="settings file (TOML)")
    add_work_options(parser)
    parser.set_defaults(command=_work)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def add(name: str, command: Command, text: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=text, description=text)
        sub.set_defaults(command=command)
        return sub

    demo = add("demo", _demo, "one whole job from bundled recordings; no microphone needed")
    demo.add_argument(
        "--out", type=Path, metavar="DIR", help="where the files go (default: a new pullcall-demo folder)"
    )
    demo.add_argument("--recordings", type=Path, metavar="DIR", help="folder with playlist.tsv and its recordings")
    demo.add_argument("--model", type=Path, metavar="DIR", help="another Vosk model folder")
    demo.add_argument("--quiet", action="store_true", help="do not synthesise the spoken answers")
    demo.add_argument("--keep-audio", action="store_true", help=KEEP_AUDIO)

    plan = add("plan", _plan, "passes, pulls, positions, spans and bands of a rectangular room")
    from assistant.plan_command import add_options

    add_options(plan)

    practice = add("practice", _practice, "learn it: a job against a simulated carpet, by keyboard or voice")
    from assistant.practice.options import add_options as add_practice

    add_practice(practice)

    hear = add("hear", _hear, "what each recording means at an ask")
    hear.add_argument(
        "files", nargs="+", type=Path, metavar="FILE", help="WAV, FLAC or Ogg recording, at most a minute"
    )
    hear.add_argument("--ask", default="pull", help="the ask whose grammar listens (default: pull)")
    hear.add_argument("--model", type=Path, metavar="DIR", help="another Vosk model folder")
    hear.add_argument("--json", action="store_true", help="print a JSON object a line")

    _add_proving(add)

    bench = add("bench", _bench, "speed and memory on this machine")
    bench.add_argument("--json", action="store_true", help="print JSON")
    live = "the whole program through a virtual microphone and loudspeaker (needs PulseAudio): some ten minutes"
    bench.add_argument("--live", action="store_true", help=live)

    from assistant.hearing.options import add_options as add_evaluation

    add_evaluation(add("evaluate", _evaluate, "how well an engine hears the recordings of a manifest"))
    return parser


def _add_proving(add: Callable[[str, Command, str], argparse.ArgumentParser]) -> None:
    """The commands that look at what was recorded."""
    review = add(
        "review",
        _review,
        "checks a job file, prints a summary, writes the report; of a folder the table of all its jobs",
    )
    review.add_argument("job", type=Path, metavar="JOB", help="a job file or a folder")
    review.add_argument("--out", type=Path, metavar="DIR", help="where the report goes (default: beside the job)")
    review.add_argument("--code", metavar="WORDS", help="a job code kept elsewhere, to be checked")
    review.add_argument("--sheet", action="store_true", help="write the one-page inspection sheet, too")
    from assistant.ledger.options import add_options as add_ledger

    add_ledger(review)

    verify = add("verify", _verify, "what a job file proves: whether its rows fit, its code, sessions, gaps, clock")
    verify.add_argument("job", type=Path, metavar="JOB", help="a job file")
    verify.add_argument("--code", metavar="WORDS", help="a job code kept elsewhere, to be held against the file")
    verify.add_argument("--json", action="store_true", help="print JSON")

    shown = add("settings", _settings, "the settings file; each value, its default, range and meaning")
    shown.add_argument("--json", action="store_true", help="print JSON")

    doctor = add("doctor", _doctor, "looks at microphone, loudspeaker, model, disk, clock, terminal and pedal")
    doctor.add_argument("--json", action="store_true", help="print JSON")
    doctor.add_argument("--device", metavar="NAME", help="part of the microphone's name")
    doctor.add_argument("--model", type=Path, metavar="DIR", help="another Vosk model folder")

    forget = add("forget", _forget, "removes the sound kept beside a job; the log stays whole")
    forget.add_argument("job", type=Path, metavar="JOB", help="a job file")
    forget.add_argument("--audio", action="store_true", required=True, help="the sound of its utterances")


def _description() -> str:
    return "pullcall: hands-free assistant for stretching wall-to-wall carpet. Offline."


def _codes() -> str:
    return "exit codes:\n" + "\n".join(f"  {each.value:3}  {each.name.lower().replace('_', ' ')}" for each in Exit)


def _work(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.work_command import run

    return run(options, settings)


def _demo(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.demo import run

    return run(options, settings)


def _plan(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.plan_command import run

    print(run(options, settings))
    return Exit.DONE


def _practice(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.practice_command import run

    return run(options, settings)


def _hear(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.hear_command import run

    return run(options)


def _review(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.ledger.options import is_ledger, wishes_of

    if is_ledger(options):
        from assistant.ledger.command import review_folder

        return review_folder(options.job, wishes_of(options))
    from assistant.record.review import review

    found = review(options.job, options.out, options.code, sheet=options.sheet)
    print(found.text)
    return found.code


def _verify(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.record.verify import verify

    found = verify(options.job, options.code)
    print(found.as_json() if options.json else found.as_text())
    return found.exit


def _forget(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.record.verify import forget_audio

    print(forget_audio(options.job))
    return Exit.DONE


def _settings(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.settings_command import run

    return run(options)


def _doctor(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.doctor import run

    return run(options, settings)


def _bench(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.bench import run

    return run(as_json=options.json, live=options.live)


def _evaluate(options: argparse.Namespace, settings: Settings) -> Exit:
    from assistant.hearing.command import evaluate

    return evaluate(options)
