"""The sound of a day at work: noises at changing levels, sentences that answer what is asked, and other people's talk.

Everything comes from a seed; the recordings are those in recordings_synthetic, made by synthetic voices.
"""

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.manifest import Item, read_manifest
from assistant.ports import RATE
from assistant.practice.noises import NOISES
from assistant.shelf import recordings_folder
from assistant.speech.audio import read_audio
from assistant.speech.grammars import grammar
from assistant.speech.understand import understand

Samples = NDArray[np.float32]
"""RATE, mono, 1 = full scale."""
LOOP_S = 20.0
"""Length of a noise, after which it begins again."""
QUIETEST_DB, LOUDEST_DB = -70.0, -25.0
"""Root mean square of the noise between sentences, of full scale."""
BEHIND_SPEECH_DB = -42.0
"""No louder while somebody speaks to the assistant: the soak is about lasting, `evaluate` about hearing in noise."""
SPEECH_DB = -22.0
"""Root mean square of a recording."""
WEIGHTS = {"reading": 5, "hooked": 5, "ready": 8, "yes": 6, "hold": 5, "finish": 8, "resume": 8}
"""How often an act is said beside the others, each of which has 1: a job that goes on."""


@dataclass(frozen=True)
class Recording:
    """One sentence that somebody speaks."""

    file: Path
    text: str
    act: str
    """What it does at the ask it is for; '' for other people's talk."""


class Backdrop:
    """The noise that never stops; its kind and level change."""

    def __init__(self, dice: Random) -> None:
        count = round(LOOP_S * RATE)
        self._loops = [make(count, seed).astype(np.float32) for seed, make in enumerate(NOISES.values(), 1)]
        self._dice, self._at = dice, 0
        self.change(QUIETEST_DB)

    def change(self, level_db: float | None = None) -> None:
        """Another noise, at that level or at any."""
        self._loop = self._dice.choice(self._loops)
        level = self._dice.uniform(QUIETEST_DB, LOUDEST_DB) if level_db is None else level_db
        self._gain = np.float32(10 ** (level / 20))

    def cut(self, count: int) -> Samples:
        """The next `count` samples of it."""
        places = np.arange(self._at, self._at + count) % len(self._loop)
        self._at = int(places[-1]) + 1 if count else self._at
        found: Samples = (self._loop[places] * self._gain).astype(np.float32)
        return found


def spoken(recording: Recording) -> Samples:
    """The recording at its level."""
    samples = np.frombuffer(read_audio(recording.file), "<i2").astype(np.float32) / 32768
    level = float(np.sqrt(np.mean(samples**2))) + 1e-9
    found: Samples = (samples * np.float32(10 ** (SPEECH_DB / 20) / level)).astype(np.float32)
    return found


def as_blocks(sound: Samples, block: int) -> Iterator[bytes]:
    """`sound` in pieces of `block` samples, int16 little-endian; the last is filled up with its own begin."""
    whole = np.resize(sound, -(-len(sound) // block) * block) if len(sound) else sound
    pieces = (np.clip(whole, -1, 1) * 32767).astype("<i2").reshape(-1, block)
    yield from (each.tobytes() for each in pieces)


class Script:
    """Which recording is spoken next."""

    def __init__(self, dice: Random) -> None:
        self._dice = dice
        items = read_manifest(recordings_folder() / "evaluation" / "manifest.tsv")
        self._items = [each for each in items if each.inside]
        self._others = [Recording(each.file, each.text, "") for each in items if not each.inside]

    def answer(self, ask: str) -> Recording:
        """Something that can be said at the ask."""
        acts: dict[str, list[Recording]] = {}
        for each in _at_ask(ask, self._items):
            acts.setdefault(each.act, []).append(each)
        (act,) = self._dice.choices(list(acts), [WEIGHTS.get(each, 1) for each in acts])
        return self._dice.choice(acts[act])

    def other(self) -> Recording:
        """Talk that is not for the assistant."""
        return self._dice.choice(self._others)


def _at_ask(ask: str, items: Sequence[Item]) -> list[Recording]:
    found = [Recording(each.file, each.text, each.meaning.split()[0]) for each in items if each.ask == ask]
    for file, text, _ in demo_recordings():
        meaning = understand(text, grammar(ask))
        found += [] if meaning is None else [Recording(file, text, meaning.act)]
    return found


@cache
def demo_recordings() -> tuple[tuple[Path, str, bool], ...]:
    """The demo's recordings in their order: file, what is spoken, and whether noise is mixed into it."""
    folder = recordings_folder() / "demo"
    rows = csv.DictReader((folder / "playlist.tsv").read_text(encoding="utf-8").splitlines(), delimiter="\t")
    return tuple((folder / row["file"], row["text"], bool(row["noise"])) for row in rows)
