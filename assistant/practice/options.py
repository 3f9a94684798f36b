"""Options of `pullcall practice`, apart from it: the command line starts without loading what the practice needs."""

import argparse
from pathlib import Path

ROOM = ("8 ft 1 in", "7 ft 2 in")
"""A closet of a room: ten pulls."""
MOST_SEED = 10**9


def add_options(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument("--room", nargs=2, default=ROOM, metavar=("LENGTH", "WIDTH"), help="sides, as for 'plan'")
    parser.add_argument("--seed", type=int, default=7, metavar="N", help="another number is another carpet")
    parser.add_argument("--out", type=Path, metavar="DIR", help="a folder; one that holds a practice job resumes it")
    parser.add_argument("--voice", action="store_true", help="speak instead of typing")
    parser.add_argument("--auto", action="store_true", help="watch a job done right")
    parser.add_argument("--device", metavar="NAME", help="with --voice: part of the microphone's name")
    parser.add_argument("--model", type=Path, metavar="DIR", help="with --voice: another Vosk model folder")
