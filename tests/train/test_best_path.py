"""The aligner's best path against a search over all paths, and its times. Needs torch (extra train)."""

import math
from collections.abc import Iterator
from itertools import combinations, product

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train.corpus import Alignment  # noqa: E402
from assistant.train.realign import SILENCE_COST, BestPath, alignment, best_paths, second  # noqa: E402
from assistant.train.spelling import states  # noqa: E402

NAMES = ["SIL", "A", "B", "C"]
TEXTS = [
    [[(1, 2)]],
    [[(1,), (2, 3)], [(3,)]],
    [[(2, 1)], [(2,), (1, 1)]],
    [[(1,)], [(1,)], [(1,)]],
]
"""Words with their pronunciations."""

Segments = list[tuple[int, int]]
"""(phone, first frame)"""


def every_path(text: list[list[tuple[int, ...]]], frames: int) -> Iterator[tuple[float, Segments]]:
    """(cost of its silences, segments): a pronunciation for each word, silence or none around it, any timing.

    A silence costs SILENCE_COST but for one at the very beginning.
    """
    for forms in product(*text):
        for silent in product([False, True], repeat=len(text) + 1):
            chain = [0] * silent[0]
            for form, after in zip(forms, silent[1:], strict=True):
                chain += [*form, *[0] * after]
            if len(chain) <= frames:
                for cuts in combinations(range(1, frames), len(chain) - 1):
                    yield SILENCE_COST * sum(silent[1:]), list(zip(chain, [0, *cuts], strict=True))


def score(scores: np.ndarray, segments: Segments) -> float:
    """Outputs 2 p at a phone's first frame and 2 p + 1 at the others."""
    total = 0.0
    for (phone, begin), (_, end) in zip(segments, [*segments[1:], (0, len(scores))], strict=True):
        total += scores[begin, 2 * phone] + scores[begin + 1 : end, 2 * phone + 1].sum()
    return float(total)


@pytest.mark.parametrize("seed", range(12))
def test_the_best_path_is_the_best_of_all(seed: int) -> None:
    """Several clips at once, of unequal length; frames behind a clip's end must not matter."""
    dice = np.random.default_rng(seed)
    sizes = [4, 7, 6, 5]
    scores = dice.normal(0, 2, (7, len(TEXTS), 8)).astype(np.float32)
    told = [states(text) for text in TEXTS]
    found = best_paths(torch.tensor(scores), sizes, told)
    for place, (text, size, path) in enumerate(zip(TEXTS, sizes, found, strict=True)):
        mine = scores[:size, place]
        best = max(every_path(text, size), key=lambda each: score(mine, each[1]) - each[0])
        assert [(told[place].phone[state], begin) for state, begin in path.begins] == best[1]
        cost = (mine.max(1).sum() - score(mine, best[1]) + best[0]) / size
        assert path.cost == pytest.approx(cost, abs=1e-4)


@pytest.mark.parametrize("text", [[[(1, 2, 3)], [(1, 2)]], [[(1, 2, 3, 1, 2)]]])
def test_a_text_too_long_for_its_clip_has_no_alignment_and_the_worst_cost(text: list[list[tuple[int, ...]]]) -> None:
    told = states(text)
    path = best_paths(torch.zeros(4, 1, 8), [4], [told])[0]
    assert path.cost == math.inf
    assert alignment(0, told, path, 4, NAMES) is None


def test_times_are_those_of_the_frames() -> None:
    """By hand: score k hears a window of 25 ms that begins at 30 k ms; a phone begins half-way between two centres."""
    assert [second(frame) for frame in range(4)] == pytest.approx([0.0, 0.0275, 0.0575, 0.0875], abs=6e-4)
    told = states([[(1, 2)], [(3,)]])
    # Places: silences 0, 1, 2, then A 3, B 4, C 5.
    path = BestPath([(0, 0), (3, 4), (4, 6), (1, 9), (5, 12), (2, 15)], 0.0)
    found = alignment(7, told, path, 20, NAMES)
    at = {frame: pytest.approx(0.03 * frame - 0.0025, abs=6e-4) for frame in (4, 6, 9, 12, 15)}
    assert found == Alignment(7, ((("A", at[4]), ("B", at[6])), (("C", at[12]),)), (at[9], at[15]))


def test_words_without_silence_between_them_end_where_the_next_begins() -> None:
    told = states([[(1,)], [(2,)]])
    found = alignment(0, told, BestPath([(3, 0), (4, 5)], 0.0), 9, NAMES)
    assert found is not None
    assert found.ends[0] == found.words[1][0][1]


@pytest.mark.parametrize(("frames", "kept"), [(23, True), (24, False)])
def test_a_phone_of_more_than_seven_tenths_of_a_second_is_not_believed(frames: int, kept: bool) -> None:
    """23 frames of 30 ms are 0.69 s."""
    told = states([[(1,)]])
    found = alignment(0, told, BestPath([(0, 0), (2, 2), (1, 2 + frames)], 0.0), 60, NAMES)
    assert (found is not None) is kept
