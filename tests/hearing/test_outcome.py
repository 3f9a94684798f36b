"""The measures, on made-up outcomes."""

from pathlib import Path

import pytest

from assistant.hearing.manifest import Item
from assistant.hearing.outcome import Outcome, Share, compare, measure


def heard(
    name: str, text: str, means: str, got: str, meaning: str, late_s: float | None = 0.4, offered: str = "none"
) -> Outcome:
    item = Item(Path(name), "size", text, means, "am_x", 1)
    return Outcome(item, "clean", got, meaning, 1.0, late_s, offered=offered)


TRIALS = [
    heard("1", "twelve feet", "size 144 in", "twelve feet", "size 144 in"),
    heard("2", "twelve feet", "size 144 in", "twelve foot", "size 144 in", 0.5),
    heard("3", "thirteen feet", "size 156 in", "thirty feet", "size 360 in"),
    heard("4", "twelve feet", "size 144 in", "help", "help", -0.5),
    heard("5", "twelve feet six", "size 150 in", "[unk]", "none", None),
    heard("6", "hello there", "none", "[unk]", "none"),
    heard("7", "two by fours", "none", "two by four", "size 24 in 48 in"),
]


def test_every_measure() -> None:
    found = measure(TRIALS)
    assert (found.right, found.wrong, found.refused) == (Share(2, 5), Share(2, 5), Share(1, 5))
    assert found.wrong_values == Share(1, 5)  # 'help' is another act
    assert found.sentence_errors == Share(4, 5)
    assert found.word_errors == Share(1 + 1 + 2 + 3, 11)
    assert found.accepted == Share(1, 2)
    assert found.cut_short == Share(1, 5)
    assert found.late_s == [0.4, 0.5, 0.4, -0.5]


def test_the_right_one_asked_about() -> None:
    told = ("twelve feet", "size 144 in", "twelve feet")
    found = measure(
        [
            heard("1", *told, "none", offered="size 144 in"),
            heard("2", *told, "none", offered="size 360 in"),
            heard("3", *told, "none"),
            heard("4", *told, "size 144 in"),
            heard("5", "hello there", "none", "[unk]", "none", offered="none"),
        ]
    )
    assert (found.refused, found.offered) == (Share(3, 4), Share(1, 4))


def test_a_share_tells_its_interval() -> None:
    assert str(Share(81, 263)) == "30.8 (25.5-36.6)"
    assert str(Share(0, 0)) == "-"


def test_two_engines_on_the_same_trials() -> None:
    better = [heard(*row) for row in (("3", "thirteen feet", "size 156 in", "thirteen feet", "size 156 in"),
                                      ("7", "two by fours", "none", "", "none"))]  # fmt: skip
    found = compare([*TRIALS[:3], better[1]], [*TRIALS[:2], better[0], TRIALS[6]])
    assert (found.only_first, found.only_second, found.p) == (1, 1, 1.0)
    found = compare([TRIALS[0], *better], [TRIALS[0], TRIALS[2], TRIALS[6]])
    assert (found.only_first, found.only_second, found.p) == (2, 0, 0.5)
    with pytest.raises(ValueError, match="same recordings"):
        compare(TRIALS, TRIALS[::-1])
