"""Cepstra against Kaldi's own code and against other formulas of the same."""

import numpy as np
import pytest

from assistant.shelf import model_folder
from assistant.speech.cepstra import HIGHEST, LOWEST, cepstra

FRAMES = {
    0: (
        120.092, -34.747, 28.372, 14.526, -0.693, -27.611, -17.221, -65.979, -61.623, -31.647, -58.971, -9.205,
        1.491, -10.460, -0.273, -6.565, -9.625, 12.056, 4.508, 11.539, -7.447, 3.524, -1.293, -0.805, 2.139, 0.669,
        -0.370, -1.620, 1.543, 0.200, -12.928, 8.351, -1.151, -6.451, 13.183, -2.936, -3.856, -2.466, 8.042, -2.626,
    ),
    20: (
        116.233, -59.193, -27.703, -34.175, 3.116, -3.696, -27.509, -72.553, -0.553, 67.528, -12.885, -21.367, 3.815,
        20.870, 8.913, -41.443, -44.175, 5.316, 6.401, 5.061, -15.598, 2.042, -0.889, -0.708, 4.145, 3.970, 2.496,
        2.924, 6.095, 1.848, -13.256, 8.061, -2.922, -12.906, 6.567, -5.669, -4.136, -3.036, 6.509, -3.409,
    ),
    47: (
        114.011, -64.451, -10.716, -8.859, -35.234, -37.345, 16.356, -46.000, -16.733, 39.746, -33.601, 23.127,
        34.904, -29.061, -6.489, -11.821, -39.806, 2.095, 0.118, -0.698, -8.171, 3.863, -2.704, -0.857, 2.626, 6.081,
        0.860, 1.964, 9.447, -0.375, -13.179, 9.501, -7.302, -11.461, 11.038, -7.895, -6.013, -2.565, 6.802, -2.372,
    ),
}  # fmt: skip
"""Frame -> cepstra of `signal` by kaldi-native-fbank 1.23.0 (Kaldi's feature code as a wheel): dither 0,
use_energy off, 40 bands from 20 to 7600 Hz, 40 cepstra, all else as it comes. 26 November 2026."""


def signal() -> np.ndarray:
    """Half a second: a chirp, a tone, an offset, steps that look like noise."""
    place = np.arange(8000)
    seconds = place / 16000
    chirp = 6000 * np.sin(2 * np.pi * (200 * seconds + 3000 * seconds**2))
    return np.round(chirp + 900 * np.cos(2 * np.pi * 5100 * seconds) + 300 + 40 * ((place * 7919) % 101 - 50))


def made(samples: np.ndarray) -> np.ndarray:
    return cepstra(samples.astype(np.float32))


def test_they_are_kaldis_to_a_hundredth() -> None:
    found = made(signal())
    assert found.shape == (48, 40)
    for frame, wanted in FRAMES.items():
        assert np.abs(found[frame] - np.array(wanted)).max() < 0.01


def other(samples: np.ndarray) -> np.ndarray:
    """The same from textbook formulas, written otherwise.

    Mel scale 2595 log10(1 + f / 700) (O'Shaughnessy 1987; the HTK book, from memory); the spectrum as a sum; the
    triangles point by point; the cosine transform as a sum that keeps lengths (DCT-II); lifter 1 + L/2 sin(pi n / L).
    """
    mel = [2595 * np.log10(1 + hertz / 700) for hertz in np.arange(256) * 16000 / 512]
    low, high = (2595 * np.log10(1 + hertz / 700) for hertz in (20, 7600))
    edges = [low + (high - low) * each / 41 for each in range(42)]
    bands = np.array([[np.interp(each, edges[k : k + 3], (0, 1, 0)) for each in mel] for k in range(40)])
    fourier = np.exp(-2j * np.pi * np.outer(np.arange(256), np.arange(400)) / 512)
    window = np.sin(np.pi * np.arange(400) / 399) ** 1.7
    rows = []
    for begin in range(0, len(samples) - 399, 160):
        frame = samples[begin : begin + 400] - samples[begin : begin + 400].mean()
        raised = frame - 0.97 * np.r_[frame[0], frame[:-1]]
        logs = np.log(np.maximum(bands @ np.abs(fourier @ (raised * window)) ** 2, 2.0**-23))
        row = []
        for n in range(40):
            length = np.sqrt((1 if n == 0 else 2) / 40)
            cosine = length * sum(logs[k] * np.cos(np.pi * n * (2 * k + 1) / 80) for k in range(40))
            row.append(cosine * (1 + 11 * np.sin(np.pi * n / 22)))
        rows.append(row)
    return np.array(rows)


@pytest.mark.parametrize("samples", [0, 399, 400, 559, 560, 4000])
def test_they_are_the_textbooks(samples: int) -> None:
    """Of noise of any length; what does not fill a window has no frame."""
    sound = np.round(np.random.default_rng(samples).normal(0, 1500, samples))
    if samples < 400:
        assert made(sound).shape == (0, 40)
    else:
        wanted = other(sound)
        assert wanted.shape == ((samples - 400) // 160 + 1, 40)
        assert np.abs(made(sound) - wanted).max() < 0.01


def test_silence_is_the_floor() -> None:
    """Log of the floor in every band: only the first cepstrum is left, sqrt(40) ln(2 ** -23)."""
    found = made(np.full(400, 300.0))
    assert found[0, 0] == pytest.approx(np.sqrt(40) * np.log(2.0**-23), abs=0.01)
    assert np.abs(found[0, 1:]).max() < 0.01


def test_the_recogniser_is_told_the_same_figures() -> None:
    """conf/mfcc.conf is what vosk computes; what it does not name is Kaldi's default, as in the reference above."""
    lines = (model_folder() / "conf" / "mfcc.conf").read_text(encoding="utf-8").split()
    told = dict(line.removeprefix("--").split("=") for line in lines)
    assert told == {
        "use-energy": "false", "num-mel-bins": "40", "num-ceps": "40",
        "low-freq": f"{LOWEST:g}", "high-freq": f"{HIGHEST:g}", "dither": "0",
    }  # fmt: skip
