"""Silence is what the microphone hears while nobody speaks; only so much of it at one question asks again."""

import pytest

from assistant.patience import Patience
from assistant.screen.choices import asks, taps

SECOND = [(1, 1.0, False)]
"""One second listened to the question of turn 1, nobody speaking."""


def due(*heard: tuple[int, float, bool], wait_s: float = 10.0) -> list[int]:
    """At which of the pieces it was over."""
    patience = Patience()
    return [
        at for at, (turn, seconds, speaking) in enumerate(heard, 1) if patience.over(turn, seconds, speaking, wait_s)
    ]


@pytest.mark.parametrize(
    ("heard", "at"),
    [
        (SECOND * 9, []),
        (SECOND * 10, [10]),
        (SECOND * 35, [10, 20, 30]),
        (SECOND * 9 + [(2, 1.0, False)] * 9, []),  # another question
        (SECOND * 9 + [(1, 1.0, True)] + SECOND * 9, []),  # somebody spoke
        (SECOND * 9 + [(1, 1.0, True)] * 30, []),  # and goes on and on
        (SECOND * 9 + [(1, 1.0, True)] + SECOND * 10, [20]),
    ],
)
def test_a_wait_is_over_after_so_much_silence_at_one_question(
    heard: list[tuple[int, float, bool]], at: list[int]
) -> None:
    assert due(*heard) == at


def test_a_wait_of_nothing_is_never_over() -> None:
    assert due(*SECOND * 1000, wait_s=0.0) == []


def test_a_finger_on_the_screen_is_no_silence() -> None:
    patience = Patience()
    for _ in range(9):
        assert not patience.over(1, 1.0, False, 10.0)
    patience.touched()
    assert [patience.over(1, 1.0, False, 10.0) for _ in range(10)] == [False] * 9 + [True]


AT_WORK = {"pull", "ready", "close", "paused"}
MEASURING = {
    "temperature", "humidity", "unrolled", "cushion", "strip", "gully", "slab_humidity", "slab_ph",
    "size", "wall", "square", "openings", "hold",
}  # fmt: skip


def test_who_is_at_work_is_never_asked_again_and_who_measures_late() -> None:
    """Common practice, no source: an installer pulls in silence for minutes."""
    assert {ask for ask in asks() if taps(ask).patience == 0} == AT_WORK
    assert {ask: taps(ask).patience for ask in MEASURING} == dict.fromkeys(MEASURING, 6)
    assert {taps(ask).patience for ask in asks() if ask not in AT_WORK | MEASURING} == {1}
