"""A row's first pull leaning into its corner."""

from fractions import Fraction

import pytest

from assistant.core.chord import Caster
from assistant.core.compass import Wall
from assistant.core.floor import Floor
from assistant.core.layout import HeadRule
from assistant.core.length import feet
from assistant.core.outline import rectangle
from assistant.core.row import leaning, row


def test_the_first_pull_leans_fifteen_degrees() -> None:
    """13 ft at 15 degrees: 156 / cos 15 = 161.503 in (checks.md, DER); the tail stands away from the home side."""
    caster = Caster(Floor(rectangle(feet(13), feet(20))))
    first = row(caster, Wall.FAR, Wall.LEFT, HeadRule()).placed[0]
    found = leaning(caster, first, Wall.FAR, Wall.LEFT, Fraction(15))
    assert float(found.chord.span.inches) == pytest.approx(161.503, abs=5e-4)
    assert found.angle == Fraction(15)
    assert found.head_at == first.head_at
    assert float(found.tail_at.x - first.tail_at.x) == pytest.approx(156 * 0.267949, abs=1e-4)
    right = row(caster, Wall.FAR, Wall.RIGHT, HeadRule()).placed[0]
    assert leaning(caster, right, Wall.FAR, Wall.RIGHT, Fraction(15)).tail_at.x < right.tail_at.x


def test_it_stays_straight_where_its_tail_would_meet_the_wall_beside() -> None:
    caster = Caster(Floor(rectangle(feet(40), feet(4))))
    first = row(caster, Wall.FAR, Wall.LEFT, HeadRule()).placed[0]
    assert leaning(caster, first, Wall.FAR, Wall.LEFT, Fraction(15)) == first
