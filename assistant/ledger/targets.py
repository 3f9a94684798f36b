"""Where the ledger may be written: never in a job's place, never through a link."""

from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.record.review import SUFFIX

_SQLITE = b"SQLite format 3\x00"


def check_target(path: Path) -> None:
    """Before the work: can a file be written there without taking a job's place? Raises Refusal (NOT_WRITABLE)."""
    if path.suffix == SUFFIX or _is_job(path):
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: would take a job file's place; name another file")
    if path.is_symlink():  # in a folder from elsewhere it may lead anywhere
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: is a link; remove it, or name another file")
    if path.is_dir():
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: is a folder; name a file in it")
    if not path.parent.is_dir():
        raise Refusal(Exit.NOT_WRITABLE, f"{path}: there is no folder {path.parent}; make it first")


def _is_job(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(_SQLITE)) == _SQLITE
    except OSError:
        return False
