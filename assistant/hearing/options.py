"""The options of `pullcall evaluate`; light, for every start of the program reads them."""

import argparse
from pathlib import Path

ENGINES = ("ours", "two-ears", "vosk", "pocketsphinx")
RADIO, ROOM = "radio", "room"
NAMES = ("pink", "vacuum", "compressor", "hammer", "staples", "saw", RADIO, ROOM)
"""Noises that may be asked for; a room has no ratio."""
RATIOS = (20.0, 10.0, 5.0)
"""Decibels, unless others are asked for."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of the command."""
    parser.add_argument(
        "manifests", nargs="*", type=Path, metavar="MANIFEST", help="manifest.tsv of recordings (default: ours)"
    )
    parser.add_argument("--engine", choices=ENGINES, default="ours", help="who listens (default: ours)")
    taken = "Vosk model folder: a must for --engine vosk, in place of ours for ours and two-ears, none for pocketsphinx"
    parser.add_argument("--model", type=Path, metavar="DIR", help=taken)
    parser.add_argument("--against", choices=ENGINES, help="another engine on the same recordings")
    parser.add_argument(
        "--against-model", type=Path, metavar="DIR", help="its Vosk model folder, likewise, as of the release before"
    )
    parser.add_argument(
        "--noise", nargs="*", default=["pink"], choices=NAMES, metavar="NAME", help=f"any of {', '.join(NAMES)}"
    )
    parser.add_argument(
        "--snr", nargs="+", type=float, default=[*RATIOS], metavar="DB", help="speech to noise, decibels"
    )
    parser.add_argument("--whole", action="store_true", help="no end-pointing: each recording as it was cut")
    parser.add_argument("--limit", type=int, metavar="N", help="the first N recordings only")
    parser.add_argument(
        "--out", type=Path, metavar="DIR", help="write the results page, its pictures and outcomes.tsv there"
    )
