"""Features and network: against outside figures, and with what is kept against decoding everything anew."""

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.ports import RATE
from assistant.speech import second_ear_net as net
from assistant.speech.second_ear_files import EMBEDDINGS, Floats, Weights, halve

WIDTH = 12
"""Two numbers for each head."""
TOKENS = 7


def test_the_mel_bands_are_those_the_network_was_trained_with() -> None:
    """Figures of faster-whisper 1.2.1 (FeatureExtractor.mel_filters), which has them from librosa: Slaney's scale."""
    bands = net.mel_bands()
    assert bands.shape == (80, 201)
    figures = {(0, 1): 0.0248625949, (10, 10): 0.0199082196, (40, 43): 0.0147355656, (79, 199): 0.000448759034}
    assert {place: float(bands[place]) for place in figures} == pytest.approx(figures, abs=1e-8)


@pytest.mark.parametrize("hertz", [440.0, 1000.0, 5000.0])
def test_a_tone_is_loudest_in_the_band_around_it(hertz: float) -> None:
    samples = np.sin(2 * np.pi * hertz * np.arange(RATE) / RATE).astype(np.float32)
    levels = net.features(samples, 1.5)
    assert levels.shape == (80, 150)
    mel = hertz * 3 / 200 if hertz < 1000 else 15 + np.log(hertz / 1000) * 27 / np.log(6.4)
    top = 15 + np.log(8) * 27 / np.log(6.4)
    assert abs(int(levels[:, 50].argmax()) - (mel / top * 81 - 1)) <= 1
    assert levels[:, 140].max() == levels.min()  # the silence after it lies on the floor


def weights(seed: int = 1) -> Weights:
    """A network of the right shape and no sense."""
    dice = np.random.default_rng(seed)

    def some(*shape: int) -> Floats:
        return dice.normal(0, 0.5, shape).astype(np.float32)

    found = {EMBEDDINGS: some(TOKENS, WIDTH), "decoder/position_encodings/encodings": some(20, WIDTH)}
    for part in ("decoder", *(f"decoder/layer_{layer}/{each}" for layer in range(net.LAYERS) for each in
                              ("self_attention", "attention", "ffn"))):  # fmt: skip
        found |= {f"{part}/layer_norm/gamma": some(WIDTH), f"{part}/layer_norm/beta": some(WIDTH)}
    for layer in range(net.LAYERS):
        sizes = {"self_attention/linear_0": 3, "self_attention/linear_1": 1, "attention/linear_0": 1,
                 "attention/linear_1": 2, "attention/linear_2": 1, "ffn/linear_0": 1, "ffn/linear_1": 1}  # fmt: skip
        for name, times in sizes.items():
            whole = f"decoder/layer_{layer}/{name}"
            found |= {f"{whole}/weight": some(times * WIDTH, WIDTH), f"{whole}/bias": some(times * WIDTH)}
    halve(found)
    return found


def sound() -> Floats:
    found: NDArray[np.float32] = np.random.default_rng(2).normal(0, 1, (9, WIDTH)).astype(np.float32)
    return found


def test_token_by_token_is_as_all_at_once() -> None:
    there, said = weights(), [3, 1, 4, 1, 5]
    at_once, _ = net.decode([said], net.begin(sound(), there), there)
    kept = net.begin(sound(), there)
    _, kept = net.decode([said[:2]], kept, there)
    for token in said[2:]:
        state, kept = net.decode([[token]], kept, there)
    assert kept.length == len(said)
    assert state == pytest.approx(at_once, abs=1e-4)


def test_hypotheses_side_by_side_do_not_hear_each_other() -> None:
    there = weights()
    _, kept = net.decode([[3]], net.begin(sound(), there), there)
    _, kept = net.decode([[1], [2]], kept.pick([0, 0]), there)
    together, _ = net.decode([[4], [5]], kept.pick([1, 0]), there)
    for row, said in enumerate([[3, 2, 4], [3, 1, 5]]):
        alone, _ = net.decode([said], net.begin(sound(), there), there)
        assert together[row] == pytest.approx(alone[0], abs=1e-4)


def test_a_later_token_is_not_seen_by_an_earlier_one() -> None:
    there = weights()
    _, kept = net.decode([[3, 1, 6]], net.begin(sound(), there), there)
    _, other = net.decode([[3, 1, 0]], net.begin(sound(), there), there)
    for (k, v), (other_k, other_v) in zip(kept.selves, other.selves, strict=True):
        assert k[:, :, :2] == pytest.approx(other_k[:, :, :2])
        assert v[:, :, :2] == pytest.approx(other_v[:, :, :2])


def test_the_probabilities_are_a_whole() -> None:
    there = weights()
    state, _ = net.decode([[3]], net.begin(sound(), there), there)
    assert np.exp(net.likely(state, there)).sum() == pytest.approx(1.0, abs=1e-5)
