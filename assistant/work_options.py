"""The options of `pullcall` without a command; read before anything heavy is loaded."""

import argparse
from pathlib import Path


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of `pullcall` without a command."""
    group = parser.add_argument_group("without a command: a job with microphone, voice and screen")
    what = "a job file; '.job' is added to a new name (default: the unfinished one here, or a new one)"
    group.add_argument("--job", dest="job_file", type=Path, metavar="JOB", help=what)
    group.add_argument("--new", action="store_true", help="begin a new job")
    group.add_argument("--no-mic", action="store_true", help="do not listen: tap or type")
    group.add_argument("--quiet", dest="no_voice", action="store_true", help="do not speak")
    kept = "keep the sound of each utterance beside the job (otherwise none is kept)"
    group.add_argument("--keep-audio", dest="keep_sound", action="store_true", help=kept)
    group.add_argument("--plain", action="store_true", help="lines of text instead of a drawn screen")
    tablet = "show the job in browsers, too; PORT is 8765 where none is given"
    group.add_argument("--tablet", dest="tablet", nargs="?", type=int, const=8765, metavar="PORT", help=tablet)
    opened = "let the network reach the tablet page at this address of ours; each browser is asked a code"
    group.add_argument("--open-to", dest="open_to", metavar="ADDRESS", help=opened)
    group.add_argument("--tablet-may-tap", action="store_true", help="answers may be tapped on the tablet page")
    group.add_argument("--device", dest="mic", metavar="NAME", help="part of the microphone's name")
    group.add_argument("--model", dest="ear_model", type=Path, metavar="DIR", help="another Vosk model folder")


_OWN = {
    "job_file": "--job",
    "new": "--new",
    "no_mic": "--no-mic",
    "no_voice": "--quiet",
    "keep_sound": "--keep-audio",
    "plain": "--plain",
    "tablet": "--tablet",
    "open_to": "--open-to",
    "tablet_may_tap": "--tablet-may-tap",
    "mic": "--device",
    "ear_model": "--model",
}


def stray_options(options: argparse.Namespace) -> str:
    """The first of these options that was given before a command, which would not heed it; '' = none."""
    return next((name for key, name in _OWN.items() if getattr(options, key)), "")
