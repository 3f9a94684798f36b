"""What a microphone hears while nobody speaks to it: noise, a radio, other people's talk; everything from a seed."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soxr

from assistant.hearing.sound import active_speech, at_microphone, samples_of
from assistant.ports import RATE
from assistant.practice.noises import NOISES, Samples, in_room, radio, room

MINUTE_S = 60.0
"""Sound made at a time; talk runs on to the end of a sentence."""
NOISE_DB = (-65.0, -12.0)
"""Of noise alone, root mean square of full scale: from a hush to a machine beside the microphone."""
RADIO_DB = (-50.0, -16.0)
TALK_DB = (-45.0, -14.0)
"""From the next room to close by; each sentence is up to APART_DB louder or quieter."""
APART_DB = 6.0
TEMPO = (0.85, 1.15)
"""By resampling: the pitch goes with it, so no two passes are alike."""
GAP_S = (0.2, 4.0)
BELOW_RADIO_DB = (15.0, 40.0)
BELOW_TALK_DB = (0.0, 30.0)
"""So far below the speech lies the noise."""
IN_ROOM = 0.5
"""Of the radio's minutes so many come through a room, the others from close by."""


@dataclass(frozen=True)
class Playing:
    """What plays from when to when, seconds from the begin of its stretch."""

    begin_s: float
    end_s: float
    what: str


@dataclass(frozen=True)
class Stretch:
    """A minute or so of sound."""

    samples: bytes
    """RATE, mono, int16 little-endian."""
    playing: tuple[Playing, ...]


Made = tuple[Samples, list[Playing]]


def stretches(kind: str, seconds: float, seed: Sequence[int], talk: Sequence[Path]) -> Iterator[Stretch]:
    """One of KINDS without a gap; `talk` = the recordings it is made of, unused for noise.

    Raises Refusal (BAD_AUDIO), ValueError without recordings where some are needed.
    """
    if not talk and kind != "noise":
        raise ValueError(f"no recordings for the {kind}: give at least one")
    dice, left = np.random.default_rng(seed), round(seconds * RATE)
    source = KINDS[kind](dice, talk)
    while left > 0:
        sound, playing = next(source)
        yield Stretch(at_microphone(sound[:left], dice), tuple(playing))
        left -= len(sound)


def _noise(dice: np.random.Generator, talk: Sequence[Path]) -> Iterator[Made]:
    """Each noise a minute, swelling or dying away; all of them before one comes again."""
    while True:
        for name in dice.permutation(list(NOISES)):
            begin, end = dice.uniform(*NOISE_DB, 2)
            sound = NOISES[name](round(MINUTE_S * RATE), _seed(dice))
            levels = 10 ** (np.linspace(begin, end, len(sound)) / 20)
            yield sound * levels, [Playing(0.0, MINUTE_S, f"{name} {begin:.0f} to {end:.0f} dB")]


def _radio(dice: np.random.Generator, talk: Sequence[Path]) -> Iterator[Made]:
    recordings = [samples_of(each) for each in talk]
    while True:
        seconds, level = round(MINUTE_S * dice.uniform(*TEMPO)), dice.uniform(*RADIO_DB)
        tempo = seconds / MINUTE_S
        sound = _at_tempo(radio(seconds * RATE, _seed(dice), recordings), tempo)
        if dice.random() < IN_ROOM:
            sound = _in_room(sound, _seed(dice))
        what = f"radio {level:.0f} dB, tempo {tempo:.2f}"
        yield _with_noise(sound, level, BELOW_RADIO_DB, dice), [Playing(0.0, len(sound) / RATE, what)]


def _talk(dice: np.random.Generator, talk: Sequence[Path]) -> Iterator[Made]:
    """Sentence after sentence in one room a minute; all recordings before one comes again."""
    parts, playing, have = list[Samples](), list[Playing](), 0
    while True:
        for at in dice.permutation(len(talk)):
            tempo, apart = dice.uniform(*TEMPO), dice.uniform(-APART_DB, APART_DB)
            speech = samples_of(talk[at])
            said = _at_tempo(speech / active_speech(speech)[1], tempo) * 10 ** (apart / 20)
            what = f"{talk[at].name}, tempo {tempo:.2f}"
            playing.append(Playing(have / RATE, (have + len(said)) / RATE, what))
            parts += [said, np.zeros(round(dice.uniform(*GAP_S) * RATE))]
            have += len(parts[-2]) + len(parts[-1])
            if have >= MINUTE_S * RATE:
                sound = _in_room(np.concatenate([*parts, np.zeros(-have % RATE)]), _seed(dice))
                yield _with_noise(sound, dice.uniform(*TALK_DB), BELOW_TALK_DB, dice), playing
                parts, playing, have = [], [], 0


KINDS: dict[str, Callable[[np.random.Generator, Sequence[Path]], Iterator[Made]]] = {
    "noise": _noise,
    "radio": _radio,
    "talk": _talk,
}
"""The thirds of the background."""


def _at_tempo(sound: Samples, tempo: float) -> Samples:
    played: Samples = soxr.resample(sound, RATE * tempo, RATE)
    return played


def _in_room(sound: Samples, seed: int) -> Samples:
    """As noises.in_room, over a whole number of seconds: a spectrum of prime length takes many times as long."""
    fill = -(len(sound) + len(room(seed))) % RATE
    return in_room(np.pad(sound, (0, fill)), seed)[: len(sound)]


def _with_noise(sound: Samples, level_db: float, below_db: tuple[float, float], dice: np.random.Generator) -> Samples:
    """Speech of level 1 at a level, with one of the noises so far below it."""
    noise = NOISES[dice.choice(list(NOISES))](len(sound), _seed(dice))
    whole: Samples = (sound + noise * 10 ** (-dice.uniform(*below_db) / 20)) * 10 ** (level_db / 20)
    return whole


def _seed(dice: np.random.Generator) -> int:
    return int(dice.integers(2**31))
