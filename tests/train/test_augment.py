"""Whispering made from speech, and a band without highs. Needs torch (extra train)."""

import numpy as np
import pytest
import soundfile

from assistant.shelf import recordings_folder

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")


def test_a_whisper_keeps_the_words_place_and_loses_the_voice() -> None:
    """The voice: how like itself the sound is one pitch period later. Measure: normalised autocorrelation, textbook."""
    from assistant.train.augment import whispered

    torch.manual_seed(1)
    file = sorted((recordings_folder() / "evaluation").glob("task_*.ogg"))[0]
    sound, _ = soundfile.read(file, dtype="int16")
    x = torch.tensor(sound).float()[None].repeat(8, 1)
    made = whispered(x).numpy()
    said = sound.astype(np.float64)
    assert made.shape == (8, len(sound))
    voices = [_voice(each) for each in made]
    assert min(voices) < 0.5 * _voice(said) and max(voices) < _voice(said)
    for each in made:
        assert np.corrcoef(_loudness(each), _loudness(said))[0, 1] > 0.6


def _voice(sound: np.ndarray) -> float:
    """Mean over the loudest tenths of a second: the highest autocorrelation at 60 to 400 Hz."""
    pieces = [sound[at : at + 1600] - sound[at : at + 1600].mean() for at in range(0, len(sound) - 1600, 800)]
    loud = sorted(pieces, key=lambda piece: -float(np.square(piece).sum()))[:8]
    highest = []
    for piece in loud:
        like = np.correlate(piece, piece, "full")[len(piece) - 1 :]
        highest.append(like[40:267].max() / like[0])
    return float(np.mean(highest))


def _loudness(sound: np.ndarray) -> np.ndarray:
    return np.array(
        [
            np.log(np.square(sound[at : at + 800].astype(np.float64)).mean() + 100)
            for at in range(0, len(sound) - 800, 800)
        ]
    )


HZ = 16000 / 20000
"""Of a bin of 20,000 samples."""


def _spectra(rows: np.ndarray) -> np.ndarray:
    """NumPy's transform, not the one measured; the window keeps the cut ends out of the highs."""
    return np.fft.rfft(rows.astype(np.float64) * np.hanning(rows.shape[1]))


def _power(spectra: np.ndarray, low: float, high: float) -> np.ndarray:
    """Of each row, from `low` to `high` Hz."""
    return np.square(np.abs(spectra[:, round(low / HZ) : round(high / HZ)])).sum(1)


def test_a_narrow_band_takes_the_highs_from_the_rows_chosen_and_nothing_else() -> None:
    """White noise. Lows end at 3.3, highs begin at 4 kHz; the edges, measured, lie between and differ."""
    from assistant.train.augment import narrowed

    torch.manual_seed(2)
    x, some = torch.randn(40, 20000), torch.arange(40)[:, None] % 2 == 0
    made = narrowed(x, some)
    assert made.shape == x.shape
    assert torch.equal(made[1::2], x[1::2])
    before, after = _spectra(x.numpy()[::2]), _spectra(made.numpy()[::2])
    other = _power(_spectra(x.numpy()[1::2]), 4000, 8000)
    assert 10 * np.log10(_power(after, 4000, 8000).max() / other.min()) < -40
    assert np.sqrt(_power(after - before, 0, 3300) / _power(before, 0, 3300)).max() < 0.01
    kept = np.array([_power(after, at, at + 50) / _power(before, at, at + 50) for at in range(3300, 4000, 50)])
    edges = 3300 + 50 * (kept > 0.25).sum(0)  # half the amplitude
    assert edges.min() >= 3350 and edges.max() <= 3950
    assert np.ptp(edges) > 250


class Hiss:
    """A bank of no rooms and white noise."""

    rooms = torch.eye(1, 8)

    def cut(self, clips: int, samples: int) -> object:
        return torch.randn(clips, samples)


def test_of_the_narrow_clips_half_have_a_narrow_speaker_and_half_a_narrow_microphone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A speaker of two tones, noise as loud: whether the tone at 5.5 kHz and the noise around it are there.

    Shares by hand, of 60 in 100 narrow: both are there in 40, the noise alone in 30, neither in 30.
    """
    from assistant.train import augment

    torch.manual_seed(3)
    monkeypatch.setattr(augment, "_microphone", lambda x, spread: x)
    seconds = torch.arange(20000) / 16000
    tones = sum(torch.sin(2 * torch.pi * hertz * seconds) for hertz in (1000, 5500))
    levels = augment.Levels(0.0, 0.0, clean_share=0.0, reverberant_share=0.0, narrow_share=0.6)
    made = _spectra(augment.augmented(tones.repeat(300, 1), torch.ones(300, 1), Hiss(), levels).numpy())
    highs, lows = _power(made, 5600, 5900), _power(made, 2600, 2900)
    noise = highs > 0.1 * lows
    tone = _power(made, 5497, 5503) > highs
    assert np.mean(noise & tone) == pytest.approx(0.4, abs=0.09)
    assert np.mean(noise & ~tone) == pytest.approx(0.3, abs=0.08)
    assert np.mean(~noise & ~tone) == pytest.approx(0.3, abs=0.08)


def test_a_gate_takes_what_is_soft_before_and_after_the_rows_chosen_are_loud_and_nothing_else() -> None:
    """Places by hand: 0.1 s loud (speech) from 0.5 s on, 40 dB softer around it; a gate shuts 8 to 30 dB below."""
    from assistant.train.augment import gated

    torch.manual_seed(4)
    x, some = torch.where(torch.rand(60, 24000) < 0.5, -1.0, 1.0), torch.arange(60)[:, None] % 2 == 0
    x[:, :8000] *= 0.01
    x[:, 9600:] *= 0.01
    made = gated(x, torch.ones(60, 1), some)
    assert torch.equal(made[1::2], x[1::2])
    assert torch.equal(made[::2, 8000:9600], x[::2, 8000:9600])
    assert not made[::2, :8000].any()
    shut = np.array([int(row.nonzero().max()) + 1 - 9600 for row in made[::2]])
    assert set(shut) == {160, 480, 1280, 3200}, "after 10, 30, 80 or 200 ms"


def test_of_the_gated_clips_half_lose_what_is_soft_before_noise_comes_and_half_with_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Shares by hand, of 60 in 100 gated: 30 and 30, never the same clip."""
    from assistant.train import augment

    torch.manual_seed(5)
    given = []
    monkeypatch.setattr(augment, "gated", lambda x, speech, some: given.append((x, some)) or x)
    levels = augment.Levels(0.0, 0.0, clean_share=0.0, reverberant_share=0.0, gated_share=0.6)
    augment.augmented(torch.zeros(600, 4000), torch.ones(600, 1), Hiss(), levels)
    (quiet, early), (noisy, late) = given
    assert not quiet.any() and noisy.any(1).all()
    assert [float(each.float().mean()) for each in (early, late)] == pytest.approx([0.3, 0.3], abs=0.07)
    assert not (early & late).any()
