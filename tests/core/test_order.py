"""Orders of passes: what is refused, and why."""

import pytest

from assistant.core.order import Direction, Order, OrderError, Part, PassRule, check

CROSS, LENGTH = Direction.CROSS, Direction.LENGTH
TIE, REST = Part.TIE_OFF, Part.REST


def order(*passes: tuple[Direction, Part]) -> Order:
    return Order("ours", tuple(PassRule(*each) for each in passes))


@pytest.mark.parametrize(
    "sound",
    [
        order((CROSS, TIE), (LENGTH, REST), (CROSS, REST)),
        order((LENGTH, REST), (CROSS, REST)),
        order((LENGTH, TIE), (CROSS, TIE), (CROSS, REST), (LENGTH, REST)),
    ],
)
def test_sound_orders_pass(sound: Order) -> None:
    assert check(sound) is sound


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (order((CROSS, REST)), "length direction is never pulled to its end"),
        (order((CROSS, TIE), (LENGTH, REST)), "cross direction is never pulled to its end"),
        (order((CROSS, REST), (CROSS, TIE), (LENGTH, REST)), "nothing is left to pull after the cross rest"),
        (order((CROSS, REST), (LENGTH, REST), (LENGTH, REST)), "nothing is left to pull after the length rest"),
        (order((CROSS, TIE), (CROSS, TIE), (CROSS, REST), (LENGTH, REST)), "cross direction is tied off twice"),
    ],
)
def test_unsound_orders_are_named(wrong: Order, message: str) -> None:
    with pytest.raises(OrderError, match=f"order 'ours': .*{message}"):
        check(wrong)
