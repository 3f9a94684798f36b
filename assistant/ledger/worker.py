"""Reads some job files: in this process, or as one of several.

Paths are text and the system is asked directly: pathlib takes as long as the reading itself.
"""

import contextlib
import gc
import os
import signal
import stat
from collections.abc import Sequence
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from assistant.ledger.careful import careful_facts
from assistant.ledger.columns import Columns, Entry, columns_of
from assistant.ledger.facts import BUSY, UNREADABLE, Facts, unread
from assistant.ledger.places import Place
from assistant.ledger.rows import begin_anew
from assistant.ledger.swift import glanced_facts, swift_facts
from assistant.record import schema

_FEWER_COLLECTIONS = 50_000
"""Objects made before Python looks for rings among them: facts make many objects and no rings."""


def ready() -> None:
    """Begin of a worker's life: the interrupt key is its parent's business, and nothing open is shared with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    begin_anew()
    gc.set_threshold(_FEWER_COLLECTIONS, 50, 50)


def _called_for(places: Sequence[Place]) -> None:
    """Have the system fetch all of these files from the disk at once, not one after another."""
    if not hasattr(os, "posix_fadvise"):
        return
    for path, _ in places:
        with contextlib.suppress(OSError):
            file = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_NOFOLLOW)
            try:
                os.posix_fadvise(file, 0, 0, os.POSIX_FADV_WILLNEED)
            finally:
                os.close(file)


def read_some(places: Sequence[Place]) -> Columns:
    """The facts of these files."""
    _called_for(places)
    return columns_of([read_one(path, file) for path, file in places])


class Seen(NamedTuple):
    """Some files at first sight."""

    known: Columns
    """Of those whose facts can be told so, unchecked."""
    whole: Columns
    """Of the others: they were read as `read_some` does, once and for all."""
    left: list[Place]
    """Those known, which are yet to be checked."""


def glance_some(places: Sequence[Place]) -> Seen:
    """The facts of these files at first sight."""
    _called_for(places)
    known: list[Entry] = []
    whole: list[Entry] = []
    left: list[Place] = []
    for place in places:
        found = _glanced(*place)
        if found is None:
            whole.append(read_one(*place))
        else:
            known.append(("", found))
            left.append(place)
    return Seen(columns_of(known), columns_of(whole), left)


def _glanced(path: str, file: str) -> Facts | None:
    try:
        data = b"" if os.path.islink(path) else settled_bytes(path)  # noqa: PTH114
    except OSError:
        return None
    return glanced_facts(file, data) if data else None


def read_one(path: str, file: str) -> Entry:
    """Digest and facts of one file; '' where it must be read again next time."""
    if os.path.islink(path):  # noqa: PTH114
        return "", unread(file, UNREADABLE, "a link, which may lead out of the folder; it is not followed")
    try:
        data = settled_bytes(path)
    except OSError as error:
        return "", unread(file, UNREADABLE, f"cannot be read ({error.strerror})")
    found = swift_facts(file, data) if data else None
    if found is not None:
        return sha256(data).hexdigest(), found
    return _carefully(path, file, data)


def _carefully(path: str, file: str, data: bytes) -> Entry:
    found: Facts = careful_facts(file, Path(path))
    digest = sha256(data).hexdigest() if data else ""
    # What changed while it was read must not be kept as what was there before.
    kept = digest and found[0].state != BUSY and digest_of(path) == digest
    return digest if kept else "", found


def settled_bytes(path: str) -> bytes:
    """The bytes of a file nobody writes; b'' for one with a journal beside it or far beyond any job. Raises OSError."""
    if not stat.S_ISREG(os.stat(path).st_mode):  # noqa: PTH116
        raise OSError(None, "is no file")  # a pipe would keep everybody waiting
    if os.path.exists(f"{path}-journal"):  # noqa: PTH110
        return b""
    file = os.open(path, os.O_RDONLY)
    try:
        size = os.fstat(file).st_size
        return b"" if size > schema.MOST_BYTES else _all_of(file, size)
    finally:
        os.close(file)


def _all_of(file: int, size: int) -> bytes:
    data = os.read(file, size + 1)
    if len(data) != size:  # it grows or shrinks, or the system gives it in pieces
        with os.fdopen(os.dup(file), "rb") as whole:
            whole.seek(0)
            data = whole.read()
    return data


def digest_of(path: str) -> str:
    """SHA-256 of a settled file's bytes; '' for any other."""
    try:
        data = b"" if os.path.islink(path) else settled_bytes(path)  # noqa: PTH114
    except OSError:
        return ""
    return sha256(data).hexdigest() if data else ""
