"""Noises and rooms of a building site, made from a seed: the same seed gives the same samples.

All noises are float64 samples at 16 kHz, shape (count,), root mean square 1.
"""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.ports import RATE

Samples = NDArray[np.float64]


def _level(samples: Samples) -> Samples:
    level: Samples = samples / (np.sqrt(np.mean(samples**2)) + 1e-12)
    return level


def pink(count: int, seed: int) -> Samples:
    """Noise whose power falls with 1/f."""
    dice = np.random.default_rng(seed)
    spectrum = np.fft.rfft(dice.standard_normal(count))
    frequencies = np.fft.rfftfreq(count, 1 / RATE)
    return _level(np.fft.irfft(spectrum / np.sqrt(np.maximum(frequencies, 20.0)), count))


def vacuum(count: int, seed: int) -> Samples:
    """A vacuum cleaner: rushing air and the harmonics of a fast motor."""
    dice = np.random.default_rng(seed)
    time = np.arange(count) / RATE
    pitch = dice.uniform(280, 360)
    harmonics = [np.sin(2 * np.pi * pitch * k * time + dice.uniform(0, 6)) / k for k in range(1, 12)]
    return _level(_level(np.sum(harmonics, axis=0)) * 0.5 + pink(count, seed + 1))


def compressor(count: int, seed: int) -> Samples:
    """A small compressor: mains hum and a piston's beat."""
    dice = np.random.default_rng(seed)
    time = np.arange(count) / RATE
    hum = np.sum([np.sin(2 * np.pi * 60 * k * time + dice.uniform(0, 6)) / k for k in range(1, 20)], axis=0)
    beat = 1 + 0.7 * np.sign(np.sin(2 * np.pi * dice.uniform(12, 18) * time))
    return _level(_level(hum) + 0.6 * beat * pink(count, seed + 1))


def hammer(count: int, seed: int) -> Samples:
    """Hammer and staple blows, irregular, each ringing out in a few tenths of a second."""
    dice = np.random.default_rng(seed)
    blows = np.zeros(count)
    at = int(dice.uniform(0, 0.3) * RATE)
    while at < count:
        length = min(int(0.25 * RATE), count - at)
        time = np.arange(length) / RATE
        ring = np.sin(2 * np.pi * dice.uniform(600, 2500) * time)
        blows[at : at + length] += np.exp(-time * 30) * (ring + dice.standard_normal(length)) * dice.uniform(0.5, 1)
        at += int(dice.uniform(0.35, 0.9) * RATE)
    return _level(blows + 0.01 * pink(count, seed + 1))


def staples(count: int, seed: int) -> Samples:
    """An air stapler: a sharp crack and a puff of air, two to four a second, with pauses."""
    dice = np.random.default_rng(seed)
    shots = np.zeros(count)
    at = int(dice.uniform(0, 0.3) * RATE)
    while at < count:
        length = min(int(0.12 * RATE), count - at)
        time = np.arange(length) / RATE
        crack, puff = np.exp(-time * 220), 0.25 * np.exp(-time * 35)
        shots[at : at + length] += (crack + puff) * dice.standard_normal(length) * dice.uniform(0.6, 1)
        at += int((dice.uniform(0.25, 0.5) if dice.random() < 0.8 else dice.uniform(0.8, 1.5)) * RATE)
    return _level(shots + 0.005 * pink(count, seed + 1))


def saw(count: int, seed: int) -> Samples:
    """A circular saw: the whine of its teeth, which drops under load, and the tearing of wood."""
    dice = np.random.default_rng(seed)
    time = np.arange(count) / RATE
    marks = np.linspace(0, count / RATE, 2 + int(count / RATE / 0.7))
    load = np.interp(time, marks, dice.uniform(0, 1, len(marks)))
    phase = 2 * np.pi * np.cumsum(dice.uniform(900, 1300) * (1 - 0.2 * load)) / RATE
    whine = np.sum([np.sin(k * phase + dice.uniform(0, 6)) / k for k in range(1, 6)], axis=0)
    tearing = np.diff(dice.standard_normal(count + 1)) * (0.3 + load) * (1 + 0.5 * np.sin(phase / 24))
    return _level(_level(whine) + 1.2 * _level(tearing) + 0.4 * pink(count, seed + 1))


def radio(count: int, seed: int, talk: Sequence[Samples]) -> Samples:
    """A radio in the room: recordings of `talk` one after the other through a small loudspeaker (300 to 4,000 Hz).

    Raises ValueError for an empty `talk`.
    """
    if not talk:
        raise ValueError("no talk for the radio: give at least one recording")
    dice = np.random.default_rng(seed)
    pieces, have = list[Samples](), 0
    while have < count + RATE:
        piece = talk[int(dice.integers(len(talk)))]
        pieces.append(piece / (np.abs(piece).max() + 1e-12))
        have += len(piece)
    begin = int(dice.integers(RATE))
    spectrum = np.fft.rfft(np.concatenate(pieces)[begin : begin + count])
    frequencies = np.fft.rfftfreq(count, 1 / RATE)
    speaker = 1 / (1 + (300 / np.maximum(frequencies, 1.0)) ** 4) / (1 + (frequencies / 4000) ** 4)
    return _level(np.fft.irfft(spectrum * speaker, count))


def room(seed: int) -> Samples:
    """The impulse response of a bare room: direct sound 1, a few early echoes, a tail of 0.25 to 0.7 s (60 dB)."""
    dice = np.random.default_rng(seed)
    decay_s = dice.uniform(0.25, 0.7)
    time = np.arange(int(decay_s * RATE)) / RATE
    response: Samples = dice.standard_normal(len(time)) * 10 ** (-3 * time / decay_s) * dice.uniform(0.01, 0.04)
    for _ in range(6):
        response[int(dice.uniform(0.002, 0.03) * RATE)] += dice.choice([-1, 1]) * dice.uniform(0.05, 0.35)
    response[0] = 1.0
    return response


def in_room(speech: Samples, seed: int) -> Samples:
    """`speech` as it sounds in the room of that seed, as long as before."""
    response = room(seed)
    size = len(speech) + len(response)
    wet: Samples = np.fft.irfft(np.fft.rfft(speech, size) * np.fft.rfft(response, size), size)[: len(speech)]
    return wet


NOISES: dict[str, Callable[[int, int], Samples]] = {
    "pink": pink,
    "vacuum": vacuum,
    "compressor": compressor,
    "hammer": hammer,
    "staples": staples,
    "saw": saw,
}
"""Every noise by name that needs no recordings."""


def mix(speech: Samples, noise: str, snr_db: float, seed: int) -> Samples:
    """Speech with a noise at a signal-to-noise ratio over the whole utterance, scaled to stay within +-1."""
    level = np.sqrt(np.mean(speech**2)) * 10 ** (-snr_db / 20)
    mixed = speech + level * NOISES[noise](len(speech), seed)
    scaled: Samples = mixed * min(1.0, 0.9 / (np.max(np.abs(mixed)) + 1e-12))
    return scaled
