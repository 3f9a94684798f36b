"""Noises of a building site, made from a seed: the same seed gives the same samples.

All functions return float64 samples at 16 kHz, shape (count,), root mean square 1.
"""

from collections.abc import Callable

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


NOISES: dict[str, Callable[[int, int], Samples]] = {
    "pink": pink,
    "vacuum": vacuum,
    "compressor": compressor,
    "hammer": hammer,
}
"""Every noise by name."""


def mix(speech: Samples, noise: str, snr_db: float, seed: int) -> Samples:
    """Speech with a noise at a signal-to-noise ratio over the whole utterance, scaled to stay within +-1."""
    level = np.sqrt(np.mean(speech**2)) * 10 ** (-snr_db / 20)
    mixed = speech + level * NOISES[noise](len(speech), seed)
    scaled: Samples = mixed * min(1.0, 0.9 / (np.max(np.abs(mixed)) + 1e-12))
    return scaled
