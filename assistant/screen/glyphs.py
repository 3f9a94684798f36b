"""Text as large solid letters of block characters: four dots to the cell, so that letters keep their shape.

The letters are those of the font that Pillow carries inside, so no font has to be installed.
"""

from functools import cache, lru_cache
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

BLOCKS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
"""Index = dots: 1 upper left, 2 upper right, 4 lower left, 8 lower right."""
_SIZE = 96
"""The letters are drawn so large first, pixels."""
_STROKE = 3
"""And so much bolder."""
_APART = 7
"""And so much wider apart, so that they do not touch when small."""
_WORDS_APART = 0.5
"""A space, in widths of a capital."""
NARROWEST = 0.62
"""Letters may be squeezed to this share of their width before the text is shown smaller."""
_OPEN = {"6": (0.5, 0.2, 1, 0.37), "9": (0, 0.63, 0.42, 0.8), "5": (0, 0.5, 0.42, 0.7), "3": (0, 0.26, 0.36, 0.74)}
"""Where a digit's curve is cut open, so that it is not taken for an 8: left, top, right, bottom, as shares."""
_GAP = 2
"""Dots between digits that are drawn dot by dot."""
_DARK_FROM = 112
"""Of 255: a dot is set from this share of ink on."""


@lru_cache(maxsize=256)
def big(text: str, columns: int, rows: int, narrowest: float = NARROWEST) -> tuple[str, ...]:
    """`text` as lines of blocks, its capitals `rows` cells high and at most `columns` wide; '' fills nothing.

    Text too wide is squeezed, and then made lower: see `fitted`.
    """
    if not text.strip() or columns < 1 or rows < 1:
        return ()
    return _cells(_dots(text, columns, fitted(text, columns, rows, narrowest)))


@lru_cache(maxsize=256)
def fitted(text: str, columns: int, rows: int, narrowest: float = NARROWEST) -> int:
    """Cells a capital of `text` is high in a box of that size: at most `rows`, less where it would get too narrow."""
    for cells in range(rows, 1, -1):
        fixed, free = _widths(text, cells)
        if fixed + free * narrowest <= columns * 2:
            return cells
    return 1


def _widths(text: str, rows: int) -> tuple[int, float]:
    """Dots that `text` takes: those of digits drawn dot by dot, and those of letters, which may be squeezed."""
    own = digits().get(rows * 2, {})
    fixed = sum(own[each].width + _GAP for each in text if each in own)
    return fixed, sum(_natural(each, rows) for each in text if each not in own)


def _natural(sign: str, rows: int) -> float:
    """Dots of one sign: a dot is half as wide as high."""
    letter = _letter(sign)
    return letter.width * 4 * rows / letter.height


@lru_cache(maxsize=128)
def _letter(sign: str) -> Image.Image:
    """Ink on a strip as high as a capital; what hangs below the line is cut off."""
    font = ImageFont.load_default(_SIZE)
    top, bottom = (int(font.getbbox("H")[at]) for at in (1, 3))
    wide = font.getlength("H") * _WORDS_APART if sign == " " else font.getlength(sign) + _APART + 2 * _STROKE
    strip = Image.new("L", (max(1, int(wide)), _SIZE * 2))
    pen = ImageDraw.Draw(strip)
    pen.text((_STROKE, 0), sign, 255, font=font, stroke_width=_STROKE)
    if sign in _OPEN:
        left, upper, right, lower = _OPEN[sign]
        high = bottom - top
        pen.rectangle((left * wide, top + upper * high, right * wide, top + lower * high), 0)
    return strip.crop((0, top - _STROKE, strip.width, bottom + _STROKE))


@cache
def digits() -> dict[int, dict[str, Image.Image]]:
    """Height in dots -> digit -> its dots, from digits.txt."""
    lines = (Path(__file__).parent / "digits.txt").read_text(encoding="utf-8").splitlines()
    rest = [each for each in lines if not each.startswith("# ")]
    found: dict[int, dict[str, Image.Image]] = {}
    while rest:
        height, rest = int(rest[0]), rest[1:]
        found[height] = {rest[n * (height + 1)]: _image(rest[n * (height + 1) + 1 :][:height]) for n in range(10)}
        rest = rest[10 * (height + 1) :]
    return found


def _image(rows: list[str]) -> Image.Image:
    image = Image.new("L", (len(rows[0]), len(rows)))
    image.putdata([255 * (dot == "#") for row in rows for dot in row])
    return image


def _dots(text: str, columns: int, rows: int) -> Image.Image:
    fixed, free = _widths(text, rows)
    squeezed = min(1.0, (columns * 2 - fixed) / free) if free else 1.0
    line = Image.new("L", (columns * 2, rows * 2))
    own, at = digits().get(rows * 2, {}), 0.0
    for each in text:
        if each in own:
            line.paste(own[each], (round(at), 0))
            at += own[each].width + _GAP
            continue
        width = _natural(each, rows) * squeezed
        small = _letter(each).resize((max(1, round(at + width) - round(at)), rows * 2), Image.Resampling.LANCZOS)
        line.paste(small.point(lambda ink: 255 if ink >= _DARK_FROM else 0), (round(at), 0))
        at += width
    return line.crop((0, 0, min(line.width, max(1, round(at))), line.height))


def _cells(dots: Image.Image) -> tuple[str, ...]:
    even = Image.new("L", (dots.width + dots.width % 2, dots.height))
    even.paste(dots, (0, 0))
    ink, wide = even.tobytes(), even.width
    lines = []
    for start in range(0, dots.height * wide, 2 * wide):
        above, below = ink[start : start + wide], ink[start + wide : start + 2 * wide]
        lines.append("".join(BLOCKS[four(above[x], above[x + 1], below[x], below[x + 1])] for x in range(0, wide, 2)))
    return tuple(lines)


def four(upper_left: int, upper_right: int, lower_left: int, lower_right: int) -> int:
    """Index of the block for four dots, each inked or 0."""
    return (upper_left > 0) + 2 * (upper_right > 0) + 4 * (lower_left > 0) + 8 * (lower_right > 0)


@lru_cache(maxsize=64)
def shape(name: str, rows: int) -> tuple[str, ...]:
    """A verdict's shape, `rows` cells high and about square. Raises KeyError for an unknown one."""
    side = 240
    drawn = Image.new("L", (side, side))
    pen, last = ImageDraw.Draw(drawn), side - 1
    corners = {
        "down": [(0, 0), (last, 0), (side // 2, last)],
        "up": [(0, last), (last, last), (side // 2, 0)],
        "diamond": [(side // 2, 0), (last, side // 2), (side // 2, last), (0, side // 2)],
    }
    if name == "disc":
        pen.ellipse((0, 0, last, last), 255)
    else:
        pen.polygon(corners[name], 255)
    small = drawn.resize((rows * 4, rows * 2), Image.Resampling.LANCZOS)
    return _cells(small.point(lambda ink: 255 if ink >= _DARK_FROM else 0))
