"""Made-up jobs, how long their review takes, and its questions written out.

python -m assistant.ledger make FOLDER --jobs 10000
python -m assistant.ledger bench FOLDER
python -m assistant.ledger questions
"""

import argparse
import sys
import time
from pathlib import Path

from assistant.exits import Exit, Refusal


def main() -> int:
    """`make` writes job files, `bench` reviews a folder cold and warm, `questions` writes them as SQL."""
    options = _parser().parse_args()
    try:
        return {"make": _make, "bench": _bench, "questions": _questions}[options.what](options)
    except Refusal as refusal:
        print(f"ledger: {refusal.line}", file=sys.stderr)
        return refusal.code
    except OSError as error:
        print(f"ledger: {error.filename}: {error.strerror}; name another folder", file=sys.stderr)
        return Exit.NOT_WRITABLE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m assistant.ledger", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parts = parser.add_subparsers(dest="what", required=True)
    make = parts.add_parser("make", help="write made-up job files of 200 events each, marked as practice")
    make.add_argument("folder", type=Path)
    make.add_argument("--jobs", type=_count, default=1000)
    make.add_argument("--rooms", type=_count, default=300, help="different talks they are made from (default: 300)")
    make.add_argument("--seed", type=int, default=0)
    bench = parts.add_parser("bench", help="time to the first and the whole table, and memory, cold and warm")
    bench.add_argument("folder", type=Path)
    parts.add_parser("questions", help="write questions.sql anew from questions.py")
    return parser


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"'{text}': a whole number from 1 is expected")
    return int(text)


def _make(options: argparse.Namespace) -> Exit:
    from assistant.ledger.made import make_jobs

    if options.folder.exists() and any(options.folder.rglob("*.job")):
        raise Refusal(Exit.NOT_WRITABLE, f"{options.folder}: holds jobs already; name a new folder")
    begun = time.monotonic()
    count = make_jobs(options.folder, options.jobs, options.rooms, options.seed)
    print(f"{count:,} jobs from {min(options.rooms, count):,} talks in {time.monotonic() - begun:.0f} s")
    return Exit.DONE


def _bench(options: argparse.Namespace) -> Exit:
    from assistant.ledger.measure import measure

    for name, run in measure(options.folder):
        print(f"{name}: {run}", flush=True)
    return Exit.DONE


def _questions(_: argparse.Namespace) -> Exit:
    from assistant.ledger.written import PATH, written_out

    print(f"{PATH}: {PATH.write_text(written_out(), encoding='utf-8'):,} characters")
    return Exit.DONE


if __name__ == "__main__":
    sys.exit(main())
