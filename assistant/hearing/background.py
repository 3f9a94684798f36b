"""Hours of background, a piece at a time, over all cores: which commands were taken that nobody gave."""

import gc
import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil
from pathlib import Path
from typing import Any

from assistant.hearing.background_listening import ASKS, MANNERS, Found, Held, Listening, Piece
from assistant.hearing.background_sound import KINDS, stretches
from assistant.hearing.engines import open_ours
from assistant.hearing.manifest import Item, read_manifest
from assistant.hearing.pool import spread
from assistant.hearing.sound import radio_talk, samples_of
from assistant.ports import RATE
from assistant.shelf import recordings_folder
from assistant.speaker import Speaker

ASK_S = 180.0
"""So long each ask is open; shorter where not all of them would come up."""
PIECE_S = 720.0
"""At most so much is heard in one go, from fresh ears on."""


@dataclass(frozen=True)
class Talk:
    """The recordings one kind is made of."""

    files: tuple[Path, ...]
    seconds: float
    voices: int


def talk_of(items: Sequence[Item]) -> dict[str, Talk]:
    """Kind -> its recordings; noise has none. Raises Refusal (BAD_AUDIO)."""
    said = [each.file for each in items if each.kind == "talk" and not each.inside]
    return {kind: _talk(files, items) for kind, files in (("noise", []), ("radio", radio_talk(items)), ("talk", said))}


def _talk(files: Sequence[Path], items: Sequence[Item]) -> Talk:
    seconds = sum(len(samples_of(each)) for each in files) / RATE
    return Talk(tuple(files), seconds, len({each.voice for each in items if each.file in files}))


def evaluation_talk() -> dict[str, Talk]:
    """That of the evaluation's recordings, on which nothing is trained or tuned."""
    return talk_of(read_manifest(recordings_folder() / "evaluation" / "manifest.tsv"))


def pieces(hours: float, seed: int) -> list[Piece]:
    """`hours` in equal thirds, cut up and in turn; each as good as heard by itself."""
    whole_s = hours * 3600 / len(KINDS)
    count, ask_s = ceil(whole_s / PIECE_S), min(ASK_S, whole_s / len(ASKS))
    length_s = whole_s / count
    return [Piece(kind, at, at * length_s, length_s, ask_s, seed) for at in range(count) for kind in KINDS]


def background(
    hours: float,
    seed: int,
    model: Path | None,
    talk: dict[str, Talk],
    tell: Callable[[int, int, Found], None],
    manners: Sequence[str] = tuple(MANNERS),
    cores: int = 0,
    *,
    two: bool = False,
) -> Found:
    """What came of so many hours, the same for any number of cores (0 = all).

    `two`: with the second ear. `tell` hears (done, all) pieces and what came of those done. Every process opens the
    ears for itself: open them once before, so that what is refused is told in one line.
    """
    todo, found = pieces(hours, seed), Found()
    for done, each in enumerate(spread(_hear, todo, _begin, (model, two, talk, manners), cores), 1):
        found.add(each)
        tell(done, len(todo), found)
    return found


_here: dict[str, Any] = {}
"""What a process works with, set once by _begin."""


def _begin(model: Path | None, two: bool, talk: dict[str, Talk], manners: Sequence[str]) -> None:
    _here.update(ears=open_ours(model, two=two), talk=talk, manners=manners)
    _here.update(speaker=Speaker(None, None, str), opened_mb=_resident_mb())


def _hear(piece: Piece) -> Found:
    begun, found = time.process_time(), Found()
    each_manner = [Listening(name, piece, _here["ears"], found, _here["speaker"]) for name in _here["manners"]]
    seed = (piece.seed, [*KINDS].index(piece.kind), piece.number)
    for stretch in stretches(piece.kind, piece.seconds, seed, _here["talk"][piece.kind].files):
        for each in each_manner:
            each.hear_on(stretch)
    found.worked_s[piece.kind] = time.process_time() - begun
    gc.collect()
    found.held.append(Held(os.getpid(), piece.kind, _here["opened_mb"], _resident_mb()))
    return found


def _resident_mb() -> float:
    """Resident memory of this process; NaN where there is no Linux to tell it."""
    try:
        rows = Path("/proc/self/status").read_text(encoding="ascii", errors="replace").splitlines()
    except OSError:
        return float("nan")
    return next((int(row.split()[1]) / 1024 for row in rows if row.startswith("VmRSS:")), float("nan"))
