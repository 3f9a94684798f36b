"""Reads some job files: in this process, or as one of several."""

import gc
import signal
import stat
from hashlib import sha256
from pathlib import Path

import pyarrow as pa

from assistant.ledger.careful import careful_facts
from assistant.ledger.facts import BUSY, UNREADABLE, Facts, unread
from assistant.ledger.places import Place
from assistant.ledger.swift import swift_facts
from assistant.ledger.tables import Entry, nested
from assistant.record import schema

_FEWER_COLLECTIONS = 50_000
"""Objects made before Python looks for rings among them: facts make many objects and no rings."""


def ready() -> None:
    """Begin of a worker's life: the interrupt key is its parent's business."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.set_threshold(_FEWER_COLLECTIONS, 50, 50)


def read_some(places: list[Place]) -> pa.Table:
    """The facts of these files, as `tables.nested` lays them out."""
    return nested([read_one(Path(path), file) for path, file in places])


def read_one(path: Path, file: str) -> Entry:
    """Digest and facts of one file; '' where it must be read again next time."""
    if path.is_symlink():
        return "", unread(file, UNREADABLE, "a link, which may lead out of the folder; it is not followed")
    try:
        data = settled_bytes(path)
    except OSError as error:
        return "", unread(file, UNREADABLE, f"cannot be read ({error.strerror})")
    found = swift_facts(file, data) if data else None
    if found is not None:
        return sha256(data).hexdigest(), found
    return _carefully(path, file, data)


def _carefully(path: Path, file: str, data: bytes) -> Entry:
    found: Facts = careful_facts(file, path)
    digest = sha256(data).hexdigest() if data else ""
    # What changed while it was read must not be kept as what was there before.
    kept = digest and found[0].state != BUSY and digest_of(path) == digest
    return digest if kept else "", found


def settled_bytes(path: Path) -> bytes:
    """The bytes of a file nobody writes; b'' for one with a journal beside it or far beyond any job. Raises OSError."""
    found = path.stat()
    if not stat.S_ISREG(found.st_mode):
        raise OSError(None, "is no file")  # a pipe would keep everybody waiting
    if found.st_size > schema.MOST_BYTES or Path(f"{path}-journal").exists():
        return b""
    return path.read_bytes()


def digest_of(path: Path) -> str:
    """SHA-256 of a settled file's bytes; '' for any other."""
    try:
        data = b"" if path.is_symlink() else settled_bytes(path)
    except OSError:
        return ""
    return sha256(data).hexdigest() if data else ""
