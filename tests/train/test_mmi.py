"""The objectives against a count of every path: numerator, denominator, gradient, cross entropy, priors.

No sum over states is taken from the code under test: paths of whole sentences are listed and added up. Source of the
objective: Povey et al. 2016, 'Purely sequence-trained neural networks for ASR based on lattice-free MMI': the gradient
of log P(said) is what each frame's outputs are occupied by under the said paths, less under all paths.
Needs torch (extra train).
"""

import math
from collections.abc import Iterator
from itertools import combinations, pairwise, product

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train.clips import Batch  # noqa: E402
from assistant.train.cross_entropy import PRIOR_POWER, RAREST, SILENCE_WEIGHT, CrossEntropy, framewise  # noqa: E402
from assistant.train.loop import scored  # noqa: E402
from assistant.train.mmi import (  # noqa: E402
    CROSS_ENTROPY,
    IMPOSSIBLE,
    KNOWN,
    PAUSE,
    SQUARES,
    Denominator,
    Mmi,
    likelihoods,
    numerator,
)
from assistant.train.network import Network, Size, padded  # noqa: E402

WORDS = {"one": [(1, 2)], "two": [(2,), (3, 1, 2)]}
COUNTS = {"one": 3}
OTHERS = [(1, 3), (3,), (2, 2, 1)]
PHONES = 4
"""Silence and three phones."""
FRAMES = 4


def spread(phones: tuple[int, ...], frames: int) -> Iterator[list[int]]:
    """Every way to say these phones in so many frames: outputs frame by frame, 2 p where p begins, else 2 p + 1."""
    for cuts in combinations(range(1, frames), len(phones) - 1):
        bounds = [0, *cuts, frames]
        yield [
            2 * phone + (frame > begin)
            for phone, begin, end in zip(phones, bounds, bounds[1:], strict=False)
            for frame in range(begin, end)
        ]


def added(weighted: dict[tuple[int, ...], float], scores: np.ndarray) -> float:
    """Log of the sum over all phone chains and all their ways in time."""
    return math.log(
        sum(
            weight * math.exp(sum(scores[frame, output] for frame, output in enumerate(way)))
            for chain, weight in weighted.items()
            if len(chain) <= len(scores)
            for way in spread(chain, len(scores))
        )
    )


def said(words: list[tuple[int, ...]]) -> dict[tuple[int, ...], float]:
    """Chains of a sentence: silence or none around each word, all alike."""
    found: dict[tuple[int, ...], float] = {}
    for silences in product([(), (0,)], repeat=len(words) + 1):
        chain = silences[0]
        for word, silence in zip(words, silences[1:], strict=True):
            chain = (*chain, *word, *silence)
        found[chain] = found.get(chain, 0.0) + 1.0
    return {chain: weight for chain, weight in found.items() if chain}


def shares() -> list[tuple[tuple[int, ...], float]]:
    """(phones, probability) of every word of up to FRAMES phones; those outside the vocabulary by their bigram.

    Counts by hand from OTHERS: beginnings 1: 1, 3: 1, 2: 1; ends 3: 2 of 2, 1: 1 of 2, 2: 0 of 2; pairs 13, 22, 21.
    """
    total = (3 + 1) + (0 + 1)
    found = [((1, 2), KNOWN * 4 / total)]
    found += [(form, KNOWN * 1 / total / 2) for form in ((2,), (3, 1, 2))]
    start = {1: 1.5 / 4.5, 2: 1.5 / 4.5, 3: 1.5 / 4.5}
    stop = {1: 1.5 / 4.0, 2: 0.5 / 4.0, 3: 2.5 / 4.0}
    pairs = {(1, 3): 1.05, (2, 2): 1.05, (2, 1): 1.05}
    for size in range(1, FRAMES + 1):
        for form in product((1, 2, 3), repeat=size):
            share = (1 - KNOWN) * start[form[0]]
            for p, q in pairwise(form):
                row = sum(pairs.get((p, other), 0.05) for other in (1, 2, 3))
                share *= (1 - stop[p]) * pairs.get((p, q), 0.05) / row
            found.append((form, share * stop[form[-1]]))
    return found


def anything() -> dict[tuple[int, ...], float]:
    """Chains of up to FRAMES phones with their probability: a pause with PAUSE, a word, a pause with PAUSE, ..."""
    found: dict[tuple[int, ...], float] = {}
    words = shares()

    def go(chain: tuple[int, ...], weight: float, *, paused: bool) -> None:
        """`chain` ends with a word or a pause; both may be the end."""
        if len(chain) > FRAMES:
            return
        if chain:
            found[chain] = found.get(chain, 0.0) + weight
        if not paused:
            go((*chain, 0), weight * PAUSE, paused=True)
        for form, share in words:
            if len(chain) + len(form) <= FRAMES:
                go((*chain, *form), weight * share * (1.0 if paused else 1 - PAUSE), paused=False)

    go((), 1.0, paused=False)
    return found


def random_scores(clips: int, seed: int = 1) -> "torch.Tensor":
    return torch.tensor(np.random.default_rng(seed).normal(0, 1.5, (FRAMES, clips, 2 * PHONES)), dtype=torch.float32)


SENTENCES = [[(1, 2)], [(2,), (3,)], [(3, 1, 2)], [], [(2,), (2,), (1,)]]


def chains(sentences: list[list[tuple[int, ...]]]) -> tuple["torch.Tensor", "torch.Tensor"]:
    """As `numerator` wants them: silence first, behind each word, filled up with 0."""
    rows = [[0, *(phone for word in words for phone in (*word, 0))] for words in sentences]
    longest = max(map(len, rows))
    return torch.tensor([row + [0] * (longest - len(row)) for row in rows]), torch.tensor([len(row) for row in rows])


def wanted_said(words: list[tuple[int, ...]], scores: np.ndarray) -> float:
    return added(said(words) if words else {(0,): 1.0}, scores)


def test_the_numerator_is_the_sum_over_all_ways_to_say_it() -> None:
    scores = random_scores(len(SENTENCES))
    likelihood, peak = likelihoods(scores)
    found = numerator(likelihood, *chains(SENTENCES)) + peak
    for place, words in enumerate(SENTENCES):
        assert float(found[place]) == pytest.approx(wanted_said(words, scores[:, place].double().numpy()), abs=1e-4)


def test_the_denominator_is_the_sum_over_all_that_can_be_said() -> None:
    scores = random_scores(3, seed=2)
    likelihood, peak = likelihoods(scores)
    found = Denominator(WORDS, COUNTS, OTHERS, PHONES)(likelihood) + peak
    weights = anything()
    for place in range(3):
        assert float(found[place]) == pytest.approx(added(weights, scores[:, place].double().numpy()), abs=1e-4)


def test_a_text_too_long_for_its_sound_costs_more_than_is_allowed() -> None:
    scores = random_scores(1)
    likelihood, _ = likelihoods(scores)
    none = numerator(likelihood, *chains([[(1, 2, 3, 1, 2)]]))
    assert float(Denominator(WORDS, COUNTS, OTHERS, PHONES)(likelihood) - none) / FRAMES > IMPOSSIBLE


def objective(scores: np.ndarray, words: list[tuple[int, ...]], weights: dict[tuple[int, ...], float]) -> float:
    return (added(weights, scores) - wanted_said(words, scores)) / FRAMES


def test_the_gradient_is_the_slope_of_the_counted_objective() -> None:
    """Central differences of the listed sums, in 64 bits, output by output."""
    scores = random_scores(2, seed=3).requires_grad_()
    some = [SENTENCES[0], SENTENCES[1]]
    anything_else = Mmi(Denominator(WORDS, COUNTS, OTHERS, PHONES))
    told, all_of_it = anything_else._both(scores, *chains(some))
    ((all_of_it - told) / FRAMES).sum().backward()
    weights, step = anything(), 1e-4
    for place, words in enumerate(some):
        exact = scores.detach()[:, place].double().numpy()
        slopes = np.zeros_like(exact)
        for at in np.ndindex(exact.shape):
            up, down = exact.copy(), exact.copy()
            up[at] += step
            down[at] -= step
            slopes[at] = (objective(up, words, weights) - objective(down, words, weights)) / (2 * step)
        assert np.abs(scores.grad[:, place].numpy() - slopes).max() < 1e-4
        assert np.abs(slopes.sum(1)).max() < 1e-4, "occupation less occupation: nothing is left over in a frame"


class Given(torch.nn.Module):
    """A network that scores what it was given."""

    def __init__(self, scores: "torch.Tensor") -> None:
        super().__init__()
        self.scores = torch.nn.Parameter(scores)

    def forward(self, cepstra: "torch.Tensor") -> "torch.Tensor":
        return self.scores


def batch(labels: "torch.Tensor", aligned: list[bool], sentences: list[list[tuple[int, ...]]]) -> Batch:
    return Batch(torch.zeros(1), len(labels), labels, torch.tensor(aligned), *chains(sentences))


def test_the_whole_objective_leaves_out_what_cannot_be_and_adds_its_helpers() -> None:
    """Three clips: one whose text is too long is left out; cross entropy and squares come on top by their weights."""
    scores = random_scores(3, seed=5)
    sentences = [SENTENCES[0], [(1, 2, 3, 1, 2)], SENTENCES[1]]
    labels = torch.tensor([[0, 1, 2], [2, 1, 3], [4, 1, 1], [0, 1, 0]])
    loss, figures = Mmi(Denominator(WORDS, COUNTS, OTHERS, PHONES))(
        Given(scores), batch(labels, [True, True, False], sentences)
    )
    exact = scores.double().numpy()
    mmi = [objective(exact[:, place], sentences[place], anything()) for place in (0, 2)]
    assert float(figures["used"]) == pytest.approx(2 / 3)
    assert float(figures["mmi"]) == pytest.approx(sum(mmi) / 2, abs=1e-4)
    frames = cross_entropy(exact, labels.numpy(), [True, True, False])
    whole = sum(mmi) / 2 + CROSS_ENTROPY * frames + SQUARES * float(np.square(exact).mean())
    assert float(loss.detach()) == pytest.approx(whole, abs=1e-3)


def cross_entropy(scores: np.ndarray, labels: np.ndarray, aligned: list[bool]) -> float:
    """Frame by frame."""
    total = weights = 0.0
    for frame, clip in np.ndindex(labels.shape):
        if aligned[clip]:
            weight = SILENCE_WEIGHT if labels[frame, clip] in (0, 1) else 1.0
            here = scores[frame, clip]
            total += weight * (math.log(np.exp(here).sum()) - here[labels[frame, clip]])
            weights += weight
    return total / weights


def test_cross_entropy_weighs_silence_less_and_leaves_out_what_is_not_aligned() -> None:
    scores = random_scores(3, seed=6)
    labels = torch.tensor([[0, 1, 2], [2, 7, 3], [4, 1, 1], [0, 6, 0]])
    given = batch(labels, [True, True, False], SENTENCES[:3])
    assert float(framewise(scores, given)) == pytest.approx(
        cross_entropy(scores.double().numpy(), labels.numpy(), [True, True, False]), abs=1e-5
    )
    assert float(framewise(scores, batch(labels, [False] * 3, SENTENCES[:3]))) == 0.0


def test_the_prior_is_counted_over_aligned_frames_and_taken_off_once() -> None:
    """By hand: after one batch outputs 0 and 2 were seen twice, 4 and 7 once, each one more for the beginning."""
    torch.manual_seed(1)
    objective_ = CrossEntropy(2 * PHONES, torch.device("cpu"))
    labels = torch.tensor([[0, 6], [2, 6], [2, 6], [4, 6], [7, 6], [0, 6]])
    scores = torch.zeros(6, 2, 2 * PHONES)
    scores[1, 0, 2] = scores[3, 0, 5] = scores[4, 0, 1] = 9.0
    _, figures = objective_(Given(scores), batch(labels, [True, False], SENTENCES[:2]))
    assert objective_.seen.tolist() == [3, 1, 3, 1, 2, 1, 1, 2]
    # Of the four aligned frames of a phone two are right: output 5 is a further frame of 4's phone; ties fall to 0.
    assert float(figures["phone frames right"]) == pytest.approx(2 / 4)
    network = Network(Size(outputs=2 * PHONES, wide=8, narrow=4))
    before = network.output.bias.detach().clone()
    objective_.seen[1] = 1e-9
    objective_.fold_prior(network)
    counts = np.array([3, 1e-9, 3, 1, 2, 1, 1, 2])
    prior = np.maximum(np.log(counts / counts.sum()), np.log(counts / counts.sum()).max() - RAREST)
    assert np.abs((network.output.bias - before).detach().numpy() + PRIOR_POWER * prior).max() < 1e-5


def test_scores_come_in_32_bits_and_without_what_was_filled_up() -> None:
    network = Network(Size(outputs=2 * PHONES, wide=8, narrow=4)).eval()
    given = Batch(padded(torch.randn(2, 10, 40)), 3, *[torch.zeros(1)] * 4)
    found = scored(network, given)
    assert (found.dtype, tuple(found.shape)) == (torch.float32, (3, 2, 2 * PHONES))
