"""How the rows of a terminal are shared out: six rows of content, the value the largest."""

from dataclasses import dataclass

LEAST = (80, 24)
"""Columns and rows below which the screen only says what it needs."""
_ROOM_FROM = 0.30
"""Share of the columns the room's drawing takes."""


@dataclass(frozen=True)
class Layout:
    """Heights in cells of one size of terminal. Blank rows stand between the parts."""

    columns: int
    rows: int
    instruction: int
    """Capitals of the instruction."""
    value: int
    """Capitals of the value."""
    strip: int
    """Capitals of the verdict; its strip is two rows higher."""
    keys: int
    """Big keys, frame included."""

    @property
    def room_columns(self) -> int:
        """Width of the room's drawing."""
        return int(self.columns * _ROOM_FROM)

    @property
    def upper(self) -> int:
        """Rows of instruction and value with the blank rows around them; the room's drawing is as high."""
        return self.rows - 1 - (self.strip + 2) - 2 - self.keys


def fits(columns: int, rows: int) -> bool:
    """Is the terminal large enough?"""
    return columns >= LEAST[0] and rows >= LEAST[1]


def needed(columns: int, rows: int) -> str:
    """What a terminal too small is told."""
    least = f"{LEAST[0]} columns and {LEAST[1]} rows"
    return f"{columns} x {rows} is too small: {least} are needed. Enlarge the window, or make its letters smaller."


def layout(columns: int, rows: int) -> Layout:
    """The layout of a terminal that fits."""
    keys = max(4, round(rows * 0.18))
    strip = max(3, round(rows * 0.12))
    instruction = max(3, round(rows * 0.13))
    # The header, three blank rows, the strip's frame and the two lines of text take eight.
    value = rows - 8 - keys - strip - instruction
    return Layout(columns, rows, instruction, value, strip, keys)
