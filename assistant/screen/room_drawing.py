"""The room's picture in block characters.

Pulls to come are dots at their wall, done ones bars, skipped ones broken bars, and the present one a line across the
room with a solid head: each is told by its shape, not by its colour alone.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from PIL import Image, ImageDraw

from assistant.screen.glyphs import BLOCKS, four
from assistant.screen.room_picture import PullMark, RoomPicture, Spot

CLASSES = ("wall", "waiting", "done", "now")
"""Colour keys of the theme; where two meet in one cell, the later one is seen."""
_BAR = 0.2
"""Length of a bar, share of the shorter side of the picture."""


@dataclass(frozen=True)
class Run:
    """Characters of one colour."""

    text: str
    colour: str


Lines = tuple[tuple[Run, ...], ...]


@lru_cache(maxsize=16)
def draw_room(room: RoomPicture, columns: int, rows: int) -> Lines:
    """The room in a box of so many cells, to scale; every line is `columns` long."""
    sheet = _Sheet(room, columns, rows)
    layers = [_layer(sheet, room, each).convert("L").tobytes() for each in CLASSES]
    return tuple(tuple(_runs(layers, columns, row)) for row in range(rows))


class _Sheet:
    """From inches to dots: a dot is half a cell, so twice as high as wide."""

    def __init__(self, room: RoomPicture, columns: int, rows: int) -> None:
        self.size = (columns * 2, rows * 2)
        xs, ys = ([spot[at] for spot in room.corners] for at in (0, 1))
        self.left, self.top = min(xs), max(ys)
        wide, high = max(xs) - self.left, self.top - min(ys)
        # One dot is left free on each side; heights count double.
        self.scale = min((self.size[0] - 2) / wide, (self.size[1] - 2) * 2 / high)
        self.free = (
            (self.size[0] - 1 - wide * self.scale) / 2,
            (self.size[1] - 1 - high * self.scale / 2) / 2,
        )

    def at(self, spot: Spot) -> tuple[int, int]:
        x = self.free[0] + (spot[0] - self.left) * self.scale
        y = self.free[1] + (self.top - spot[1]) * self.scale / 2
        return round(x), round(y)

    @property
    def bar(self) -> float:
        """Length of a bar in inches."""
        return _BAR * min(self.size[0], self.size[1] * 2) / self.scale


def _layer(sheet: _Sheet, room: RoomPicture, colour: str) -> Image.Image:
    image = Image.new("1", sheet.size)
    pen = ImageDraw.Draw(image)
    if colour == "wall":
        pen.polygon([sheet.at(each) for each in room.corners], outline=1)
        for area in room.bare:
            pen.polygon([sheet.at(each) for each in area], fill=1)
        for start, end in room.gaps:
            pen.line([sheet.at(start), sheet.at(end)], fill=0)
    for pull in room.pulls:
        _pull(pen, sheet, pull, colour)
    return image


def _pull(pen: ImageDraw.ImageDraw, sheet: _Sheet, pull: PullMark, colour: str) -> None:
    match pull.stands, colour:
        case "now", "now":
            pen.line([sheet.at(pull.head), sheet.at(pull.tail)], fill=1)
            x, y = sheet.at(pull.head)
            pen.rectangle((x - 2, y - 1, x + 2, y + 1), fill=1)
        case "to come", "waiting":
            pen.point(sheet.at(_inside(pull, 2.5 / sheet.scale)), fill=1)
        case "done", "done":
            pen.line([sheet.at(_inside(pull, 2 / sheet.scale)), sheet.at(_inside(pull, sheet.bar))], fill=1)
        case "skipped", "waiting":
            for share in (0.25, 0.75, 1.25):
                pen.point(sheet.at(_inside(pull, sheet.bar * share)), fill=1)
        case _:
            pass


def _inside(pull: PullMark, inches: float) -> Spot:
    """So far from the head towards the tail, at most half of the way."""
    (x, y), (to_x, to_y) = pull.head, pull.tail
    span = max(1e-9, ((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5)
    share = min(0.5, inches / span)
    return x + (to_x - x) * share, y + (to_y - y) * share


def _runs(layers: list[bytes], columns: int, row: int) -> Iterator[Run]:
    text, colour = "", CLASSES[0]
    for column in range(columns):
        sign, its = _cell(layers, 2 * columns, 2 * (row * 2 * columns + column))
        if its != colour and sign != " ":
            if text:
                yield Run(text, colour)
            text, colour = "", its
        text += sign
    yield Run(text, colour)


def _cell(layers: list[bytes], wide: int, at: int) -> tuple[str, str]:
    """The character whose upper left dot is `at`, in the colour of the topmost class that has a dot here."""
    dots, colour = 0, CLASSES[0]
    for layer, name in zip(layers, CLASSES, strict=True):
        own = four(layer[at], layer[at + 1], layer[at + wide], layer[at + wide + 1])
        dots, colour = dots | own, name if own else colour
    return BLOCKS[dots], colour
