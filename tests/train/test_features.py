"""Cepstra of whole batches against those of one sound. Needs torch (extra train)."""

import numpy as np
import pytest

from assistant.speech import cepstra as plain
from tests.speech.test_cepstra import signal

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train.features import WARPS, Cepstra, _hidden  # noqa: E402


def cepstra(samples: np.ndarray) -> np.ndarray:
    return Cepstra()(torch.tensor(samples).float()[None])[0].numpy()


@pytest.mark.parametrize("samples", [400, 559, 560, 8000])
def test_they_are_those_of_one_sound(samples: int) -> None:
    """Which are Kaldi's to a hundredth: tests/speech/test_cepstra.py."""
    sound = signal()[:samples]
    assert np.abs(cepstra(sound) - plain.cepstra(sound.astype(np.float32))).max() < 0.01


def test_they_are_made_of_every_clip_by_itself() -> None:
    loud, quiet = signal(), signal()[::-1].copy()
    both = Cepstra()(torch.tensor(np.stack([loud, quiet])).float()).numpy()
    assert np.abs(both[1] - cepstra(quiet)).max() < 1e-3


def test_another_throat_moves_a_tone_to_another_band() -> None:
    """A warp w does to a tone of f Hz what a tone of w f Hz would be: compared by the band that answers loudest."""
    made = Cepstra()
    for place, warp in enumerate(np.linspace(*WARPS)):
        for hertz in (600.0, 1500.0, 3000.0):
            power = torch.zeros(257)
            power[round(hertz / 31.25)] = 1.0
            moved = int((power @ made.warped[place]).argmax())
            mel = 2595 * np.log10(1 + round(hertz / 31.25) * 31.25 * warp / 700)
            low, high = (2595 * np.log10(1 + each / 700) for each in (20, 7600))
            assert moved == round((mel - low) / (high - low) * 41 - 1)


def test_hiding_takes_a_few_bands_and_a_stretch_and_leaves_the_rest() -> None:
    """At most 6 bands and 15 frames (ceilings of what is drawn), replaced by the clip's mean; share 0 hides nothing."""
    torch.manual_seed(4)
    logs = torch.randn(200, 80, 40)
    mean = logs.mean(1, keepdim=True)
    made, untouched = _hidden(logs, 1.0), 0
    for clip in range(len(logs)):
        changed = (made[clip] != logs[clip]).numpy()
        bands, frames = changed.all(0), changed.all(1)
        assert bands.sum() <= 7 and frames.sum() <= 16
        assert not changed[~frames][:, ~bands].any()
        assert torch.equal(made[clip][:, bands], mean[clip].expand(80, -1)[:, bands])
        untouched += not changed.any()
    assert untouched < 10
    assert torch.equal(_hidden(logs, 0.0), logs)
