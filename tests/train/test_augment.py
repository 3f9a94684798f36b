"""Whispering made from speech. Needs torch (extra train)."""

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
