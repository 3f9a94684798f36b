"""What reaches the microphone: a recording at a level, in a room, in noise; everything from the recording's seed."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from assistant.hearing.manifest import Item
from assistant.hearing.options import NAMES, RADIO, ROOM
from assistant.ports import RATE
from assistant.practice.noises import NOISES, Samples, in_room, radio
from assistant.speech.audio import read_audio

QUIETEST_DB, LOUDEST_DB = -30.0, -14.0
"""Levels of speech, decibels of full scale: from across the room to close by."""
LEAD_S, TAIL_S = 0.3, 1.6
"""Noise before and after the recording: the end must be found in it, after the longest wait of endpoint.EndRule."""
_HISS = 2 / 32768
_WINDOW = 512
_RANGE_DB = 30.0
"""Windows quieter than the loudest by more than this are no speech."""
_SALT = 1_000_003
"""Between the seeds of the noises of one recording."""


@dataclass(frozen=True)
class Condition:
    """Under which circumstances one listens."""

    noise: str = ""
    """One of options.NAMES; '' = none."""
    snr_db: float | None = None
    """Speech while it lasts against noise; None without noise and for a room."""

    def __str__(self) -> str:
        if not self.noise:
            return "clean"
        return self.noise if self.snr_db is None else f"{self.noise} {self.snr_db:g} dB"


def conditions(noises: Sequence[str], ratios: Sequence[float]) -> list[Condition]:
    """Clean speech, then every noise at every ratio, from the highest down."""
    found = [Condition()]
    for noise in noises:
        ordered: Sequence[float | None] = [None] if noise == ROOM else sorted(ratios, reverse=True)
        found += [Condition(noise, each) for each in ordered]
    return found


@dataclass(frozen=True)
class Sound:
    """What is fed to the ears."""

    samples: bytes
    """RATE, mono, int16 little-endian."""
    end_s: float
    """Where the speech truly ends, found in the recording before noise."""


def render(item: Item, condition: Condition, talk: Sequence[Path] = ()) -> Sound:
    """`item` under `condition`; `talk` = recordings for the radio, the item's own left out.

    Raises Refusal (BAD_AUDIO), ValueError for a radio without talk.
    """
    speech, dice = samples_of(item.file), np.random.default_rng(item.seed)
    level = 10 ** (dice.uniform(QUIETEST_DB, LOUDEST_DB) / 20)
    end, active = active_speech(speech)
    if condition.noise == ROOM:
        speech = in_room(speech, item.seed)
    sound = np.pad(speech, (round(LEAD_S * RATE), round(TAIL_S * RATE)))
    if condition.snr_db is not None:
        noise = _noise(condition.noise, len(sound), item, talk)
        sound = sound + noise * active * 10 ** (-condition.snr_db / 20)
    return Sound(at_microphone(sound * level / active, dice), LEAD_S + end / RATE)


def at_microphone(sound: Samples, dice: np.random.Generator) -> bytes:
    """`sound` (RATE, 1 = full scale) with the microphone's hiss, cut off at full scale: int16 little-endian."""
    hissing = sound + _HISS * dice.standard_normal(len(sound))
    return (hissing.clip(-1, 1) * 32767).astype("<i2").tobytes()


def _noise(name: str, count: int, item: Item, talk: Sequence[Path]) -> Samples:
    seed = item.seed * _SALT + NAMES.index(name)
    if name == RADIO:
        return radio(count, seed, [samples_of(each) for each in talk if each != item.file])
    return NOISES[name](count, seed)


@lru_cache(maxsize=256)
def samples_of(file: Path) -> Samples:
    """A recording at RATE, 1 = full scale. Raises Refusal (BAD_AUDIO)."""
    return np.frombuffer(read_audio(file), "<i2") / 32768


def active_speech(speech: Samples) -> tuple[int, float]:
    """The end of the speech in samples, and its root mean square while it lasts."""
    whole = len(speech) // _WINDOW * _WINDOW or len(speech)
    power = (speech[:whole].reshape(-1, min(_WINDOW, whole)) ** 2).mean(axis=1)
    loud = np.flatnonzero(power > power.max() * 10 ** (-_RANGE_DB / 10))
    return int(loud[-1] + 1) * _WINDOW, float(np.sqrt(power[loud].mean()))


def radio_talk(items: Sequence[Item]) -> list[Path]:
    """The recordings that may play as radio: kind 'radio', or else any outside the grammars, or none."""
    kinds = itertools.groupby(sorted(items, key=lambda each: each.kind), key=lambda each: each.kind)
    files = {kind: [each.file for each in group if not each.inside] for kind, group in kinds}
    return files.get("radio") or [file for each in files.values() for file in each]
