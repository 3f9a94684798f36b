"""Every constant of the trade, in one place: value, unit, source and how well it is vouched for."""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction


class Vouch(Enum):
    """How well a figure is vouched for."""

    PUBLISHED = "published"
    """In a published document that was seen."""
    SECOND_HAND = "second hand"
    """Published, quoting another document that was not seen."""
    CONSUMER = "consumer grade"
    """Published in a consumer guide."""
    PRACTICE = "common practice, no source"
    """Heard in the trade; a setting."""
    DESIGN = "design choice"
    """Ours; a setting."""


@dataclass(frozen=True)
class Constant:
    """A figure of the trade."""

    value: Fraction
    unit: str
    """'pct', 'in', 'ft', 'F', 'h', 'points' (percentage points), 'pulls' or 'times'."""
    source: str
    vouch: Vouch


def _of(value: str | int, unit: str, source: str, vouch: Vouch) -> Constant:
    return Constant(Fraction(value), unit, source, vouch)


_MAGAZINE = "trade magazine quoting earlier CRI 104/105; a carpet maker's installation guide"
_CRI_105 = "CRI 105 (2015) s.7.2"

LEAST_STRETCH = _of(1, "pct", "CRI Carpet Installation Standard (2011) s.16.5.2", Vouch.PUBLISHED)
"""Tufted carpet with synthetic backing, in length and in width, where the maker gives no figure."""
SOFT_CEILING = _of("3/2", "pct", _MAGAZINE, Vouch.SECOND_HAND)
"""Over this is a caution, not a failure; the standard states no upper limit."""
WIDE_STRIP_SPAN = _of(30, "ft", "CRI 105 s.11.1", Vouch.PUBLISHED)
"""Longer spans call for 1 3/4 in three-row strip or two rows."""

AMBIENT_LEAST = _of(65, "F", _CRI_105, Vouch.PUBLISHED)
AMBIENT_MOST = _of(95, "F", _CRI_105, Vouch.PUBLISHED)
AMBIENT_NEVER_BELOW = _of(50, "F", _CRI_105, Vouch.PUBLISHED)
HUMIDITY_MOST = _of(65, "pct", _CRI_105, Vouch.PUBLISHED)
HUMIDITY_LEAST = _of(10, "pct", "CRI 105 (1994) s.5.2", Vouch.SECOND_HAND)
UNROLLED_LEAST = _of(24, "h", "CRI Carpet Installation Standard (2011) s.10", Vouch.PUBLISHED)
CLIMATE_AFTER = _of(72, "h", _CRI_105, Vouch.PUBLISHED)
"""How long the conditions are to be held after the job."""

HEAD_WIDTH = _of(15, "in", "consumer guides", Vouch.CONSUMER)
GAP_LEAST = _of(3, "in", "no published source", Vouch.PRACTICE)
"""Between neighbouring heads."""
GAP_MOST = _of(4, "in", "no published source", Vouch.PRACTICE)
TIE_OFF_RUN = _of(36, "in", "no published source", Vouch.PRACTICE)
"""Stretch of wall from the start corner that the first cross pulls anchor."""
HEAD_FROM_WALL_MOST = _of(3, "in", "no published source", Vouch.PRACTICE)
"""The head works best within this."""
HEAD_FROM_WALL_WARN = _of(4, "in", "no published source; other guides say up to 6 in", Vouch.PRACTICE)
"""Further off, the carpet wrinkles between head and wall and hooking lets the stretch out."""

NEIGHBOUR_JUMP = _of("3/20", "points", "ours", Vouch.DESIGN)
"""Jump in stretch between neighbouring pulls over which a caution names both."""
HOLD_FIRST = _of(2, "pulls", "ours", Vouch.DESIGN)
"""First pulls of each pass that are measured again after hooking."""
HOLD_EVERY = _of(4, "pulls", "ours", Vouch.DESIGN)
"""Then every so many pulls."""
ROOM_SIDE_LEAST = _of(2, "ft", "ours", Vouch.DESIGN)
"""A shorter side is no room: asked again."""
ROOM_SIDE_MOST = _of(100, "ft", "ours", Vouch.DESIGN)
"""A longer side is confirmed twice over: asked again."""
READING_DOUBT = _of(2, "pct", "ours", Vouch.DESIGN)
"""A reading over this share of the span is asked about before it counts, where no upper figure says otherwise."""
READING_OVER_BAND = _of("4/3", "times", "ours", Vouch.DESIGN)
"""Where the maker's figure is higher: a reading over so many times the band's most (or least) is asked about."""
