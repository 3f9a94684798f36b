"""What a wall sees: its barred ground, against a chord cast at every place looked at."""

from fractions import Fraction
from random import Random

from assistant.core.chord import Caster
from assistant.core.compass import Wall
from assistant.core.floor import Floor, FloorError, Opening, OpeningKind
from assistant.core.length import ZERO, Length, inches
from assistant.core.outline import Outline, Point, rectangle
from assistant.core.row import straight
from tests.core.floors import any_room, points

KINDS = [OpeningKind.DOORWAY, OpeningKind.HEARTH]


def furnished(seed: Random) -> Floor:
    floor = Floor(any_room(seed))
    for _ in range(4):
        wall, kind = seed.randint(1, floor.outline.walls), seed.choice(KINDS)
        length, start = floor.outline.length_of(wall), Fraction(seed.randint(0, 70), 100)
        depth = inches(seed.randint(4, 20)) if kind is OpeningKind.HEARTH else ZERO
        more = Opening(kind, wall, length * start, length * (start + Fraction(seed.randint(5, 30), 100)), depth)
        x, y, half = seed.randint(0, 300), seed.randint(-50, 300), seed.randint(3, 30)
        island = points((x - half, y), (x, y + half), (x + half, y), (x, y - half))
        for openings, islands in (((*floor.openings, more), floor.islands), (floor.openings, (*floor.islands, island))):
            try:
                floor = Floor(floor.outline, openings, islands)
            except FloorError:
                continue
    return floor


def test_bars_are_the_places_whose_chords_have_bad_tails() -> None:
    """On 250 random floors, at 12 random places of each wall and at every bar's ends, middle and just outside."""
    seed, kinds = Random(11), dict.fromkeys(("", "doorway", "hearth", "island", "reflex"), 0)
    for _ in range(250):
        floor = furnished(seed)
        caster = Caster(floor)
        for wall in range(1, floor.outline.walls + 1):
            stand = caster.stand(wall, straight(floor.outline.facing(wall)))
            bars, length = stand.bars(), floor.outline.length_of(wall)
            look = {length.inches * Fraction(seed.randint(1, 999), 1000) for _ in range(12)}
            look |= {at for each in bars for at in (each.low, each.high, (each.low + each.high) / 2)}
            for at in look:
                inside = any(each.start.inches <= at <= each.end.inches for each in floor.on(wall))
                if not 0 < at < length.inches or inside:
                    continue
                told = next((each.why for each in bars if each.holds(at)), "")
                assert told == stand.cast(Length(at)).trouble
                kinds[told] += 1
    assert min(kinds.values()) > 50, kinds


def test_a_plain_wall_has_no_bars() -> None:
    assert Caster(Floor(rectangle(inches(200), inches(100)))).stand(2, straight(Wall.FAR)).bars() == ()


def test_head_and_tail_of_a_chord_stand_in_the_room() -> None:
    ell = Outline(points((0, 0), (0, 144), (96, 144), (96, 84), (144, 84), (144, 0)))
    stand = Caster(Floor(ell)).stand(4, straight(Wall.FAR))
    assert stand.ends(stand.cast(inches(20))) == (Point(Fraction(116), Fraction(84)), Point(Fraction(116), Fraction(0)))
