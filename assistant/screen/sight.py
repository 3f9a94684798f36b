"""How large type must be to be read across a room, and how large a terminal draws it.

A letter of height H seen from distance D spans the angle a: H = 2 D tan(a/2). What must be read at a glance should span
20 to 22 minutes of arc (guidance of ISO 9241-303, not a claim to conform).
"""

from math import atan, degrees, radians, tan

DISTANCE_MM = 2000.0
"""From the eyes to the screen: it stands across the room."""
LEAST_ARC, BEST_ARC = 20.0, 22.0
"""Minutes of arc."""
PANEL_MM = 145.0
"""Height of the screen reckoned with: a 10 in tablet on its side."""
CELL_PX = (8, 16)
"""Width and height of a terminal's cell reckoned with for taps, CSS pixels."""
TARGET_PX = 44
"""Least side of what is tapped."""


def height_mm(arc: float, distance_mm: float = DISTANCE_MM) -> float:
    """Height that spans `arc` minutes at a distance."""
    return 2 * distance_mm * tan(radians(arc / 60) / 2)


def arc_of(mm: float, distance_mm: float = DISTANCE_MM) -> float:
    """Minutes of arc that a height spans at a distance."""
    return degrees(2 * atan(mm / 2 / distance_mm)) * 60


def cap_mm(cells: int, rows: int, panel_mm: float = PANEL_MM) -> float:
    """Height of a capital drawn `cells` high on a terminal of `rows` rows that fills the panel."""
    return cells * panel_mm / rows


def is_upright(columns: int, rows: int) -> bool:
    """Is a panel that the terminal fills higher than wide?"""
    return columns * CELL_PX[0] < rows * CELL_PX[1]
