"""Widgets that are tapped."""

from collections.abc import Iterable

from textual.app import RenderResult
from textual.content import Content as Styled
from textual.message import Message
from textual.widget import Widget

from assistant.screen.drawn import capitals
from assistant.screen.glyphs import big, fitted

LARGE_FROM = 3
"""A label is drawn large where it can be so many cells high; lower than that it is plain text."""
_NARROWEST = 0.4
"""Labels may be squeezed further than what is read from far."""


class Key(Widget):
    """A key to be tapped with a glove."""

    DEFAULT_CSS = """
    Key { background: $key-ground; color: $key-text; width: 1fr; height: 1fr; margin: 0 1 0 0; }
    Key.-small { margin: 0; border: none; border-right: wide $ground; border-bottom: wide $ground; }
    Key.-off { background: $ground; color: $text-plain; }
    Key.-marked { background: $now; color: $ground; text-style: bold; }
    """

    class Tapped(Message):
        """The key was tapped."""

        def __init__(self, key: "Key") -> None:
            super().__init__()
            self.key = key

    def __init__(self, label: str, name: str = "", under: str = "", *, classes: str = "") -> None:
        """`name` tells keys apart; `under` stands in small type below the label."""
        super().__init__(name=name, classes=classes)
        self.label, self.under = label, under
        self.cells = 1
        """Height of the label's capitals; 1 = plain text."""

    def show(self, label: str, under: str, cells: int) -> None:
        """Another label."""
        if (self.label, self.under, self.cells) != (label, under, cells):
            self.label, self.under, self.cells = label, under, cells
            self.refresh()

    def on_click(self) -> None:
        """A finger, a glove or a mouse."""
        self.post_message(self.Tapped(self))

    def render(self) -> RenderResult:
        """The label in the middle, large where there is room."""
        width, height = self.content_size.width, self.content_size.height
        lines = [self.label.center(width)]
        if self.cells >= LARGE_FROM:
            lines = [each.center(width) for each in _even(big(capitals(self.label), width - 2, self.cells, _NARROWEST))]
        under = [self.under.center(width)] if self.under else []
        above = (height - len(lines) - len(under) + 1) // 2
        return Styled("\n".join([*[""] * above, *lines, *under]))


def common_cells(labels: Iterable[str], columns: int, rows: int) -> int:
    """Height that all the labels can have on keys of that size; 1 = plain text."""
    cells = min((fitted(capitals(each), columns - 2, rows, _NARROWEST) for each in labels), default=1)
    return cells if cells >= LARGE_FROM else 1


def _even(lines: tuple[str, ...]) -> list[str]:
    """All of the same length, so that they are centred as one."""
    longest = max(map(len, lines), default=0)
    return [each.ljust(longest) for each in lines]
