"""Orders of passes: what is refused, and why; and a floor of small squares on which every short order is acted out."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.length import ZERO, inches
from assistant.core.order import Direction, End, Order, OrderError, Part, PassRule, Side, check

CROSS, LENGTH = Direction.CROSS, Direction.LENGTH
TIE, REST = Part.TIE_OFF, Part.REST
HOME, AWAY = End.HOME, End.AWAY
BOTH_HOME = (Side.CROSS_HOME, Side.LENGTH_HOME)


def order(*passes: tuple[Direction, Part] | PassRule, hooked: tuple[Side, ...] = BOTH_HOME) -> Order:
    rules = tuple(each if isinstance(each, PassRule) else PassRule(*each) for each in passes)
    return Order("ours", rules, hooked)


def angled(direction: Direction, part: Part, degrees: int | str = 15) -> PassRule:
    return PassRule(direction, part, AWAY, Fraction(degrees))


@pytest.mark.parametrize(
    "sound",
    [
        order((CROSS, TIE), (LENGTH, REST), (CROSS, REST)),
        order((LENGTH, REST), (CROSS, REST)),
        order((LENGTH, TIE), (CROSS, TIE), (CROSS, REST), (LENGTH, REST)),
        order(angled(LENGTH, REST), (CROSS, REST)),
        order(angled(CROSS, TIE, "89/2"), (LENGTH, REST), (CROSS, REST)),
        order(PassRule(CROSS, REST, HOME), (LENGTH, REST), hooked=(Side.CROSS_AWAY, Side.LENGTH_HOME)),
    ],
)
def test_sound_orders_pass(sound: Order) -> None:
    assert check(sound) is sound


BAD = [
    (order(), "the cross direction is never pulled to its end; it needs a cross pass of part 'rest'"),
    (order((CROSS, REST)), "the length direction is never pulled to its end; it needs a length pass of part 'rest'"),
    (order((CROSS, TIE), (LENGTH, REST)), "the cross direction is never pulled to its end; it needs"),
    (
        order((CROSS, REST), (CROSS, TIE), (LENGTH, REST)),
        "pass 2 (cross tie-off): nothing is left to pull after the cross rest; leave this pass out",
    ),
    (
        order((CROSS, REST), (LENGTH, REST), (LENGTH, REST)),
        "pass 3 (length rest): nothing is left to pull after the length rest; leave this pass out",
    ),
    (
        order((CROSS, TIE), (CROSS, TIE), (CROSS, REST), (LENGTH, REST)),
        "pass 2 (cross tie-off): the cross direction is tied off twice; leave this pass out or make it the rest",
    ),
    (
        order((CROSS, REST), (LENGTH, REST), hooked=(Side.LENGTH_HOME,)),
        "pass 1 (cross rest): pulls against the cross home side, which is not hooked there; hook it first",
    ),
    (
        order((CROSS, TIE), (LENGTH, REST), PassRule(CROSS, REST, HOME)),
        "pass 3 (cross rest): pulls against the cross away side, which is not hooked there; hook it first or pull",
    ),
    (
        order((LENGTH, REST), PassRule(CROSS, REST, HOME)),
        "pass 2 (cross rest): pulls against the cross away side, which is not hooked there",
    ),
    (
        order((LENGTH, REST), (CROSS, REST), hooked=(*BOTH_HOME, Side.LENGTH_AWAY)),
        "pass 1 (length rest): pulls towards the length away side, which is hooked already; leave one of the two",
    ),
    (
        order(angled(LENGTH, REST, 45), (CROSS, REST)),
        "pass 1 (length rest): a first pull angled 45 degrees; it must be from 0 to under 45",
    ),
    (
        order(angled(LENGTH, REST, -1), (CROSS, REST)),
        "pass 1 (length rest): a first pull angled -1 degrees; it must be from 0 to under 45",
    ),
    (
        order((CROSS, TIE), (LENGTH, REST), angled(CROSS, REST)),
        "pass 3 (cross rest): its first pull is angled, but no longer stands at the corner; angle the tie-off's first",
    ),
    (
        Order("ours", (PassRule(CROSS, REST), PassRule(LENGTH, REST)), tie_off_run=ZERO),
        "a tie-off run of nothing; it must be longer, such as 36 in",
    ),
]


@pytest.mark.parametrize(("wrong", "message"), BAD)
def test_unsound_orders_are_named(wrong: Order, message: str) -> None:
    with pytest.raises(OrderError) as caught:
        check(wrong)
    assert str(caught.value).startswith(f"order 'ours': {message}")
    assert "\n" not in str(caught.value)


def test_every_side_faces_its_other() -> None:
    assert [Side.at(one, two) for one, two in product(Direction, End)] == list(Side)
    assert [each.other for each in End] == [AWAY, HOME]


# --- The order acted out pull by pull, knowing nothing of the checker -------------------------------------------

PLACES = range(5)
"""Pulls of each direction."""
RUN = 2
"""So many of them are the tie-off."""


def works(tried: Order) -> bool:
    """Act it out: pins on the four sides pull by pull; is the whole carpet stretched both ways, no pull slipping?"""
    pins = {(side.value, at) for side in tried.hooked for at in PLACES}
    stretched: list[tuple[str, int]] = []
    for rule in tried.passes:
        way = rule.direction.value
        todo = [at for at in PLACES if (way, at) not in stretched and (rule.part is REST or at < RUN)]
        if not todo or (rule.first_angle != 0 and todo[0] != 0):
            return False
        facing = "home" if rule.towards is AWAY else "away"
        for at in todo:
            if (f"{way} {facing}", at) not in pins or (f"{way} {rule.towards.value}", at) in pins:
                return False
            pins.add((f"{way} {rule.towards.value}", at))
            stretched.append((way, at))
    return len(stretched) == 2 * len(PLACES) and len(pins) == 4 * len(PLACES)


def accepted(tried: Order) -> bool:
    try:
        check(tried)
    except OrderError:
        return False
    return True


PASSES = [PassRule(*each) for each in product(Direction, Part, End)]
HOOKED = [sides for size in range(5) for sides in combinations(Side, size)]


def short_orders() -> Iterator[Order]:
    """Every order of up to three passes, straight, from every set of hooked sides."""
    for size, hooked in product(range(4), HOOKED):
        for passes in product(PASSES, repeat=size):
            yield Order("short", passes, hooked)


def test_the_checker_agrees_with_the_floor_on_every_short_order() -> None:
    both = [(accepted(each), works(each)) for each in short_orders()]
    assert len(both) == 16 * (1 + 8 + 8**2 + 8**3)
    assert all(one == two for one, two in both)
    assert sum(one for one, _ in both) == 4 * (2 + 6), (
        "two rests in either order; one direction tied off, the other's rest before, between or after"
    )


rules = st.builds(
    PassRule,
    st.sampled_from(Direction),
    st.sampled_from(Part),
    st.sampled_from(End),
    st.sampled_from([0, 15]).map(Fraction),
)


@settings(max_examples=500, deadline=None)
@given(st.lists(rules, max_size=6).map(tuple), st.sampled_from(HOOKED), st.permutations([TIE, REST, TIE, REST]))
def test_the_checker_agrees_with_the_floor_on_longer_ones(
    passes: tuple[PassRule, ...], hooked: tuple[Side, ...], parts: list[Part]
) -> None:
    tried = Order("longer", passes, hooked)
    assert accepted(tried) == works(tried)
    # Drawn freely, few orders work: so also one that often does.
    near = [PassRule(way, part) for way, part in zip([CROSS, LENGTH, LENGTH, CROSS], parts, strict=True)]
    likely = Order("likely", (*near, *passes[:1]), BOTH_HOME, inches(36))
    assert accepted(likely) == works(likely)
