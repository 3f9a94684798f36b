"""Builds of a pass: against brute force over every combination of the kit, and by hand."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise, product
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core import tube_path, tube_sums
from assistant.core.deadman import MIDDLE
from assistant.core.kit import Build, Kit, Lack, Shortage, Tube
from assistant.core.length import ZERO, Length, feet, inches, millimetres
from assistant.core.tubes import Change, builds, change

# --- Brute force ---

Stand = tuple[tuple[int, ...], int]
"""How many of each tube, and the hole from 0."""


def served(kit: Kit, need: Length) -> dict[Stand, Fraction]:
    """Every build with the fewest tubes that serves `need`, and how far its lever is from half-way."""
    found: dict[Stand, Fraction] = {}
    for counts in product(*(range(each.count + 1) for each in kit.tubes)):
        for hole in range(kit.holes):
            tubes = sum((n * each.length.inches for n, each in zip(counts, kit.tubes, strict=True)), Fraction(0))
            total = kit.head.inches + kit.travel.inches / 2 + kit.extension_least.inches + kit.tail.inches
            away = abs(need.inches - total - tubes - hole * kit.hole_pitch.inches)
            if away <= kit.window.inches:
                found[counts, hole] = away
    fewest = min((sum(counts) for counts, _ in found), default=0)
    return {stand: away for stand, away in found.items() if sum(stand[0]) == fewest}


def cheapest(kit: Kit, needs: Sequence[Length]) -> tuple[int, Fraction]:
    """Least changes of the whole pass, then the least sum of levers, by looking at every way."""
    ways: dict[Stand, tuple[int, Fraction]] = {}
    for stands in (found for need in needs if (found := served(kit, need))):
        before, ways = ways, {}
        for (counts, hole), away in stands.items():
            ways[counts, hole] = min(
                (
                    (spent + moved(counts, was) + (hole != old), lever + away)
                    for (was, old), (spent, lever) in before.items()
                ),
                default=(0, away),
            )
    return min(ways.values(), default=(0, Fraction(0)))


def moved(one: tuple[int, ...], other: tuple[int, ...]) -> int:
    return sum(abs(a - b) for a, b in zip(one, other, strict=True))


def spent(found: Sequence[Build | Shortage]) -> tuple[int, Fraction]:
    made = [each for each in found if isinstance(each, Build)]
    changes = sum(change(a, b).count for a, b in pairwise(made))
    return changes, sum((abs(each.lever.inches) for each in made), Fraction(0))


@st.composite
def kits(draw: st.DrawFn) -> Kit:
    sizes = draw(st.lists(st.integers(3, 50), max_size=4, unique=True))
    pitch, holes = draw(st.sampled_from([1, 2, 3, 6])), draw(st.integers(1, 4))
    return Kit(
        window=inches(draw(st.sampled_from([Fraction(1, 2), Fraction(1), Fraction(3, 2), Fraction(3)]))),
        tubes=tuple(Tube(inches(size), draw(st.integers(1, 2))) for size in sizes),
        extension_least=inches(10),
        extension_most=inches(10 + pitch * (holes - 1)),
        hole_pitch=inches(pitch),
    )


@st.composite
def passes(draw: st.DrawFn) -> tuple[Kit, list[Length]]:
    kit = draw(kits())
    middle = draw(st.integers(int(kit.least.inches) - 3, int(kit.most.inches) + 6))
    reach = draw(st.sampled_from([2, 12, 100]))
    quarters = draw(st.lists(st.integers(-4 * reach, 4 * reach), min_size=1, max_size=9))
    return kit, [inches(max(Fraction(5), middle + Fraction(each, 4))) for each in quarters]


@settings(max_examples=150, deadline=None)
@given(passes(), st.sampled_from([1, tube_path.BEAM]))
def test_fewest_pieces_then_least_changes_then_levers_half_way(job: tuple[Kit, list[Length]], beam: int) -> None:
    """Law, against brute force: each build has the fewest tubes, the pass the fewest changes, the levers stand best.

    However narrow the first look is.
    """
    kit, spans = job
    needs = [each - MIDDLE for each in spans]
    with patch.object(tube_path, "BEAM", beam):
        found = builds(kit, spans)
    assert spent(found) == cheapest(kit, needs)
    for need, each in zip(needs, found, strict=True):
        best = served(kit, need)
        assert bool(best) == isinstance(each, Build)
        if isinstance(each, Build):
            stand = tuple(next((t.count for t in each.tubes if t.length == o.length), 0) for o in kit.tubes)
            assert best[stand, max(each.hole - 1, 0)] == abs(each.lever.inches)


@settings(max_examples=80, deadline=None)
@given(passes())
def test_a_shortage_is_exact(job: tuple[Kit, list[Length]]) -> None:
    """Law: a lever window wider by just what is missing reaches, and by any less does not."""
    kit, spans = job
    for span, each in zip(spans, builds(kit, spans), strict=True):
        if isinstance(each, Shortage):
            need = (span - MIDDLE).inches
            totals = [
                kit.bare.inches
                + hole * kit.hole_pitch.inches
                + sum(n * t.length.inches for n, t in zip(c, kit.tubes, strict=True))
                for c in product(*(range(t.count + 1) for t in kit.tubes))
                for hole in range(kit.holes)
            ]
            assert each.missing.inches == min(abs(need - total) for total in totals) - kit.window.inches > 0
            assert each.lack is (
                Lack.TOO_LONG if need > max(totals) else Lack.TOO_SHORT if need < min(totals) else Lack.BETWEEN
            )


# --- By hand ---

KIT = Kit()
BARE = KIT.bare + MIDDLE
"""The span at which the default kit stands without tubes, first hole, lever half-way."""


def test_each_build_by_hand() -> None:
    """16 ft: 192 - 2 1/2 = 189 1/2 in; bare 47, three of 4 ft 144 -> 191 is 1 1/2 too long: just in the window."""
    spans = [BARE, BARE + inches(3), BARE + feet(4), feet(16)]
    assert [builds(KIT, [each])[0] for each in spans] == [
        Build((), 1, ZERO),
        Build((), 2, ZERO),
        Build((Tube(feet(4), 1),), 1, ZERO),
        Build((Tube(feet(4), 3),), 1, inches("-3/2")),
    ]


def test_equal_spans_have_equal_builds() -> None:
    found = builds(KIT, [feet(16, 3)] * 30)
    assert (len(found), len(set(found))) == (30, 1)


def test_a_later_pull_decides_what_is_built_now() -> None:
    """One tube serves each pull alone; the one that serves all of them is taken, though its lever stands worse."""
    kit = Kit(tubes=(Tube(inches(20), 1), Tube(inches(21), 1)), extension_most=inches(18))
    spans = [BARE + inches(20), BARE + inches("45/2")]
    assert [each.tubes for each in builds(kit, spans) if isinstance(each, Build)] == [(Tube(inches(21), 1),)] * 2
    assert builds(kit, spans[:1]) == (Build((Tube(inches(20), 1),), 0, ZERO),)


def test_the_head_distance_is_taken_off() -> None:
    assert builds(KIT, [KIT.bare + inches(4)], inches(4)) == (Build((), 1, ZERO),)


def test_a_metric_room_with_a_kit_in_inches() -> None:
    (found,) = builds(KIT, [millimetres(4921)])
    assert isinstance(found, Build)
    assert abs(found.lever.inches) <= KIT.window.inches


def test_beyond_the_kit_comes_the_shortage_and_the_split() -> None:
    """47 ft = 564 - 2 1/2 = 561 1/2 in against a reach of 411 1/2."""
    assert KIT.most == inches("823/2")
    assert builds(KIT, [feet(47)]) == (Shortage(Lack.TOO_LONG, inches(150), feet(47), 2, *builds(KIT, [feet(23, 6)])),)


def test_a_room_narrower_than_the_shortest_build() -> None:
    assert builds(KIT, [inches(40)]) == (Shortage(Lack.TOO_SHORT, inches(8), inches(40), 0),)


def test_between_two_builds() -> None:
    kit = Kit(tubes=(Tube(feet(4), 1),), extension_most=inches(18))
    assert builds(kit, [BARE + inches(10)]) == (Shortage(Lack.BETWEEN, inches("17/2"), BARE + inches(10), 0),)


def test_across_a_shortage_the_tubes_stay() -> None:
    """As in a_later_pull: alone, the first pull would have the other tube."""
    kit = Kit(tubes=(Tube(inches(20), 1), Tube(inches(21), 1)), extension_most=inches(18))
    first, short, last = builds(kit, [BARE + inches(20), feet(90), BARE + inches("45/2")])
    assert isinstance(short, Shortage)
    assert [each.tubes for each in (first, last) if isinstance(each, Build)] == [(Tube(inches(21), 1),)] * 2


def test_no_pulls_no_builds() -> None:
    assert builds(KIT, []) == ()


def test_a_change_by_hand() -> None:
    one = Build((Tube(feet(4), 2), Tube(feet(2), 1)), 3, ZERO)
    two = Build((Tube(feet(4), 3), Tube(feet(1), 2)), 5, ZERO)
    found = change(one, two)
    assert found == Change((Tube(feet(4), 1), Tube(feet(1), 2)), (Tube(feet(2), 1),), 5)
    assert found.count == 5
    assert change(two, two) == Change()
    assert change(None, one) == Change(one.tubes, (), 3)
    assert change(Shortage(Lack.BETWEEN, ZERO, ZERO, 0), one).count == 4


# --- Many ways ---


def test_the_same_pass_has_the_same_builds_every_time() -> None:
    kit = Kit(tubes=tuple(Tube(inches(24 + 3 * n), 1) for n in range(8)))
    spans = [feet(10) + inches(Fraction(7 * n % 40, 4)) for n in range(12)]
    first = builds(kit, spans)
    tube_sums.sums_of.cache_clear()
    assert builds(kit, spans) == first


def test_a_kit_with_too_many_ways_still_gets_sound_builds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every span has a build of the fewest tubes, whichever choices were looked at."""
    kit = Kit(tubes=tuple(Tube(inches(24 + 3 * n), 1) for n in range(10)))
    spans = [feet(10) + inches(5 * n) for n in range(40)]
    all_ways = builds(kit, spans)
    monkeypatch.setattr(tube_sums, "MOST_WAYS", 5)
    monkeypatch.setattr(tube_sums, "SOME_WAYS", 1)
    for best, each in zip(all_ways, builds(kit, spans), strict=True):
        assert isinstance(best, Build)
        assert isinstance(each, Build)
        assert each.pieces == best.pieces
        assert abs(each.lever.inches) <= kit.window.inches
