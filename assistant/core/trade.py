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
    """'pct', 'in', 'ft', 'deg', 'F', 'h', 'points' (percentage points), 'pulls', 'times', 'pieces', 'pH' ..."""
    source: str
    vouch: Vouch


def _of(value: str | int, unit: str, source: str, vouch: Vouch) -> Constant:
    return Constant(Fraction(value), unit, source, vouch)


_MAGAZINE = "trade magazine quoting earlier CRI 104/105; a carpet maker's installation guide"
_CRI_105 = "CRI 105 (2015) s.7.2"
_CRI_105_STRIP = "CRI 105 s.11.1"
_CUSHION = "a carpet maker's warranty; a guide quoting a standard that was not seen"

LEAST_STRETCH = _of(1, "pct", "CRI Carpet Installation Standard (2011) s.16.5.2", Vouch.PUBLISHED)
"""Tufted carpet with synthetic backing, in length and in width, where the maker gives no figure."""
SOFT_CEILING = _of("3/2", "pct", _MAGAZINE, Vouch.SECOND_HAND)
"""Over this is a caution, not a failure; the standard states no upper limit."""
WIDE_STRIP_SPAN = _of(30, "ft", _CRI_105_STRIP, Vouch.PUBLISHED)
"""Longer spans call for wide three-row strip or two rows."""
STRIP_WIDTH = _of(1, "in", _CRI_105_STRIP, Vouch.PUBLISHED)
STRIP_THICKNESS = _of("1/4", "in", _CRI_105_STRIP, Vouch.PUBLISHED)
STRIP_WIDE = _of("7/4", "in", _CRI_105_STRIP, Vouch.PUBLISHED)
"""Width of three-row strip."""
STRIP_FASTENERS = _of(2, "pieces", _CRI_105_STRIP, Vouch.PUBLISHED)
"""At least so many in each piece of strip; none is laid across an opening."""
GULLY_MOST = _of("3/8", "in", _CRI_105_STRIP, Vouch.PUBLISHED)
"""From strip to wall; also slightly less than the carpet is thick."""
CUSHION_MOST = _of("7/16", "in", _CUSHION, Vouch.SECOND_HAND)
CUSHION_LOW_PROFILE = _of("3/8", "in", _CUSHION, Vouch.SECOND_HAND)
"""Under berber and other carpet of low profile."""
SLAB_HUMIDITY_MOST = _of(75, "pct", "ASTM F2170 as asked by CRI 2011 s.9", Vouch.PUBLISHED)
"""Relative humidity inside a concrete slab."""
SLAB_PH_MOST = _of(9, "pH", "CRI Carpet Installation Standard (2011) s.9", Vouch.PUBLISHED)

AMBIENT_LEAST = _of(65, "F", _CRI_105, Vouch.PUBLISHED)
AMBIENT_MOST = _of(95, "F", _CRI_105, Vouch.PUBLISHED)
AMBIENT_NEVER_BELOW = _of(50, "F", _CRI_105, Vouch.PUBLISHED)
HUMIDITY_MOST = _of(65, "pct", _CRI_105, Vouch.PUBLISHED)
HUMIDITY_LEAST = _of(10, "pct", "CRI 105 (1994) s.5.2", Vouch.SECOND_HAND)
UNROLLED_LEAST = _of(24, "h", "CRI Carpet Installation Standard (2011) s.10", Vouch.PUBLISHED)
UNROLLED_MOST = _of(72, "h", "CRI Carpet Installation Standard (2011) s.10", Vouch.PUBLISHED)
"""'Up to' this: longer is worth a note, no fault."""
CLIMATE_BEFORE = _of(48, "h", _CRI_105, Vouch.PUBLISHED)
"""How long the conditions are to be held before the job, and during it."""
CLIMATE_AFTER = _of(72, "h", _CRI_105, Vouch.PUBLISHED)
"""How long the conditions are to be held after the job."""

HEAD_WIDTH = _of(15, "in", "consumer guides", Vouch.CONSUMER)
GAP_LEAST = _of(3, "in", "no published source", Vouch.PRACTICE)
"""Between neighbouring heads."""
GAP_MOST = _of(4, "in", "no published source", Vouch.PRACTICE)
TIE_OFF_RUN = _of(36, "in", "no published source", Vouch.PRACTICE)
"""Stretch of wall from the start corner that the first cross pulls anchor."""
FIRST_ANGLE_UNDER = _of(45, "deg", "ours", Vouch.DESIGN)
"""A first pull leans into its corner by less than this; more would stretch the other direction rather than its own."""
HEAD_FROM_WALL_LEAST = _of(2, "in", "no published source", Vouch.PRACTICE)
HEAD_FROM_WALL_MOST = _of(3, "in", "no published source", Vouch.PRACTICE)
"""The head works best within this."""
HEAD_FROM_WALL_WARN = _of(4, "in", "no published source; other guides say up to 6 in", Vouch.PRACTICE)
"""Further off, the carpet wrinkles between head and wall and hooking lets the stretch out."""

NEIGHBOUR_JUMP = _of("3/20", "points", "ours, between two pulls next to each other on one wall", Vouch.DESIGN)
"""Jump in stretch between neighbouring pulls over which a caution names both."""
HOLD_FIRST = _of(2, "pulls", "ours", Vouch.DESIGN)
"""First pulls of each pass that are measured again after hooking."""
HOLD_EVERY = _of(4, "pulls", "ours", Vouch.DESIGN)
"""Then every so many pulls."""
HOLD_WINDOW = _of(8, "readings", "ours", Vouch.DESIGN)
"""So many hold readings, the nearest to a pull, make its estimate: enough for a median, few enough to follow."""
HOLD_BOUND = _of("3/2", "times", "ours", Vouch.DESIGN)
"""A margin over the least smaller than so many times the bound of the fall-back is measured after hooking ..."""
HOLD_GUARD = _of("1/4", "in", "ours", Vouch.DESIGN)
"""... and so much more, for what two readings may be off together."""
TARGET_GUARD = _of("1/8", "in", "ours", Vouch.DESIGN)
"""The working target lies so much above least and bound: readings may be a sixteenth off, and carpet settles."""
OVER_GUARD = _of("1/16", "in", "ours", Vouch.DESIGN)
"""Over the most, a reading is eased unless hooking loses so much more than what is over, even at its least."""
DRIFT_RUN = _of("3/20", "points", "ours", Vouch.DESIGN)
"""A steady change along a pass of more than this is a caution."""
DRIFT_LEAST = _of(5, "readings", "ours", Vouch.DESIGN)
"""Fewer readings show no drift."""
CLOSURE_FIXED = _of(1, "in", "ours", Vouch.DESIGN)
"""An outline told wall by wall may fail to close by this and a share of its perimeter."""
CLOSURE_SHARE = _of("1/300", "of the perimeter", "ours", Vouch.DESIGN)
TAIL_PLATE_WIDTH = _of(15, "in", "ours: as wide as the head", Vouch.DESIGN)
"""The padded plate at the tail, along the wall it stands against."""
TRIM_ALLOWANCE_LEAST = _of(3, "in", "CRI Carpet Installation Standard (2011) s.6", Vouch.PUBLISHED)
"""The carpet is cut longer than the room by this or more; a room out of square eats of it."""
SECOND_SIDE_DOUBT = _of(5, "pct", "ours", Vouch.DESIGN)
"""A side that differs from the one facing it, or a diagonal from a square room's, by more is asked about."""
ROOM_SIDE_LEAST = _of(2, "ft", "ours", Vouch.DESIGN)
"""A shorter side is no room: asked again."""
ROOM_SIDE_MOST = _of(100, "ft", "ours", Vouch.DESIGN)
"""A longer side is confirmed twice over: asked again."""
FIGURE_MOST = _of(10, "pct", "ours", Vouch.DESIGN)
"""No maker asks for more, the pattern included: such a figure is asked again."""
PATTERN_MOST = _of(5, "points", "ours", Vouch.DESIGN)
"""No pattern asks for more on top of the figure: asked again."""
TEMPERATURE_POSSIBLE_LEAST = _of(-20, "F", "ours", Vouch.DESIGN)
"""Colder is no room where carpet is laid: asked again."""
TEMPERATURE_POSSIBLE_MOST = _of(130, "F", "ours", Vouch.DESIGN)
CUSHION_POSSIBLE = _of(2, "in", "ours", Vouch.DESIGN)
"""No cushion is thicker: asked again."""
GULLY_POSSIBLE = _of(2, "in", "ours", Vouch.DESIGN)
"""No gully is wider: asked again."""
PH_POSSIBLE = _of(14, "pH", "the end of the scale", Vouch.DESIGN)
READING_DOUBT = _of(2, "pct", "ours", Vouch.DESIGN)
"""A reading over this share of the span is asked about before it counts, where no upper figure says otherwise."""
READING_OVER_BAND = _of("4/3", "times", "ours", Vouch.DESIGN)
"""Where the maker's figure is higher: a reading over so many times the band's most (or least) is asked about."""
HOLD_LOSS_DOUBT = _of("1/2", "of the reading", "ours", Vouch.DESIGN)
"""Hooking loses more than this only by a mishap: such a hold reading is asked about."""
