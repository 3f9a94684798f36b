"""Widgets that draw: large text, the verdict's strip, the room, the microphone's level."""

import re
from math import log10

from textual.app import RenderResult
from textual.content import Content as Styled
from textual.widget import Widget

from assistant.cues import Cue
from assistant.screen.badge import Badge
from assistant.screen.glyphs import big, shape
from assistant.screen.news import Listening
from assistant.screen.palette import Palette
from assistant.screen.room_drawing import draw_room
from assistant.screen.room_picture import RoomPicture

_FIGURE = re.compile(r"(?<=\d )(FT|IN|MM|CM|M)\b")
_LOWER_FROM = 5
"""Cells from which on small letters read as well as capitals."""
METER_CELLS = 10
_FLOOR_DB = -60.0


def capitals(text: str, cells: int = 0) -> str:
    """In capitals, which stand on the line and read better from far; units stay small where they are drawn large."""
    shown = text.upper()
    return _FIGURE.sub(lambda found: found.group().lower(), shown) if cells >= _LOWER_FROM else shown


class Big(Widget):
    """One line of text, as large as its box allows."""

    def __init__(self, name: str) -> None:
        super().__init__(id=name)
        self.text = ""
        self.cells = 1
        """Height of the capitals asked for."""

    def show(self, text: str, cells: int) -> None:
        """Draw `text` with capitals of at most so many cells."""
        if (self.text, self.cells) != (capitals(text, cells), cells):
            self.text, self.cells = capitals(text, cells), cells
            self.refresh()

    def render(self) -> RenderResult:
        """The blocks, in the middle of the height."""
        lines = big(self.text, self.size.width - 2, min(self.cells, self.size.height))
        above = (self.size.height - len(lines)) // 2
        return Styled("\n" * above + "\n".join(f" {each}" for each in lines))


class Strip(Widget):
    """The verdict as word, shape and colour; where there is none, a word or a position."""

    def __init__(self, name: str) -> None:
        super().__init__(id=name)
        self._badge: Badge | None = None
        self._text, self._cells = "", 3
        self._palette: Palette | None = None

    def show(self, badge: Badge | None, text: str, cells: int, palette: Palette) -> None:
        """Draw the badge, or the text where there is none."""
        if (self._badge, self._text, self._cells, self._palette) != (badge, text, cells, palette):
            self._badge, self._text, self._cells, self._palette = badge, text, cells, palette
            self.refresh()

    def render(self) -> RenderResult:
        """Shape and word beside each other, in the verdict's colour."""
        if self._palette is None:
            return ""
        room = self.size.width - 4
        if self._badge is None:
            lines = tuple(f"  {each}" for each in big(capitals(self._text), room, self._cells))
            return Styled.styled("\n".join(("", *lines)), self._palette.strip_text)
        sign = shape(self._badge.shape, self._cells)
        said = f"{self._badge.word} {self._badge.more}".strip()
        word = big(capitals(said), room - 2 * self._cells - 4, self._cells)
        word = (*("",) * (len(sign) - len(word)), *word)
        lines = tuple(f"  {left}    {right}" for left, right in zip(sign, word, strict=True))
        return Styled.styled("\n".join(("", *lines)), self._palette.of(self._badge.colour))


class RoomView(Widget):
    """The room from above, with its pulls."""

    def __init__(self, name: str) -> None:
        super().__init__(id=name)
        self._room: RoomPicture | None = None
        self._palette: Palette | None = None

    def show(self, room: RoomPicture | None, palette: Palette) -> None:
        """Draw the room; None leaves the box empty."""
        if (self._room, self._palette) != (room, palette):
            self._room, self._palette = room, palette
            self.refresh()

    def render(self) -> RenderResult:
        """The drawing in the theme's colours."""
        if self._room is None or self._palette is None or not self.size.area:
            return ""
        lines = draw_room(self._room, self.size.width, self.size.height)
        of = self._palette.of
        return Styled("\n").join(Styled.assemble(*((run.text, of(run.colour)) for run in line)) for line in lines)


def meter(news: Listening) -> str:
    """The level as a bar of METER_CELLS cells and what is waited for or wrong, in words while nothing is heard."""
    if news.gone:
        return f"{Cue.WARNING.sign} missing"
    if news.deaf:
        return "speaking".ljust(METER_CELLS)
    decibels = 20 * log10(max(news.peak, 1e-6))
    full = round(METER_CELLS * max(0.0, 1 - decibels / _FLOOR_DB))
    bar = "█" * full + "░" * (METER_CELLS - full)
    return f"{bar} {(news.waits or news.hint).partition('.')[0].lower()}".rstrip()
