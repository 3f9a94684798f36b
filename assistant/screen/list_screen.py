"""Everything that can be said at the ask, to be read and tapped."""

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content as Styled
from textual.screen import ModalScreen
from textual.widgets import Static

from assistant.screen.choices import Choice
from assistant.screen.panel import Panel
from assistant.screen.pedal import talks, which
from assistant.screen.tapped import Key, common_cells

COLUMNS, ENTRY_ROWS = 3, 3
"""Entries beside each other, and rows of the terminal that each takes."""
_OTHERS = 5
"""Rows of the title and the keys below."""
NEXT, CHOOSE, CLOSE = "Next", "Choose", "Close"


class ListScreen(ModalScreen[Choice | None]):
    """Gives what was chosen, None where it was closed."""

    def __init__(self, panel: Panel, pedal: tuple[str, ...]) -> None:
        super().__init__()
        self._panel, self._pedal = panel, pedal
        self._marked, self._page = -1, 0

    def compose(self) -> ComposeResult:
        """Entries, and three keys that walk through them."""
        with Vertical(id="list"):
            yield Static(id="title")
            yield Vertical(id="entries")
            with Horizontal(id="bottom"):
                for label in (NEXT, CHOOSE, CLOSE):
                    key = Key(label, label)
                    key.cells = common_cells((NEXT, CHOOSE, CLOSE), self.app.size.width // 3 - 1, _OTHERS - 1)
                    yield key

    @property
    def a_page(self) -> int:
        """Entries that a page holds."""
        return COLUMNS * max(1, (self.app.size.height - _OTHERS) // ENTRY_ROWS)

    @property
    def shown(self) -> tuple[Choice, ...]:
        """The entries of the present page."""
        start = self._page * self.a_page
        return self._panel.listed[start : start + self.a_page]

    async def on_mount(self) -> None:
        """The first page."""
        await self._show()

    async def _show(self) -> None:
        pages = -(-len(self._panel.listed) // self.a_page)
        more = f", page {self._page + 1} of {pages}" if pages > 1 else ""
        self.query_one("#title", Static).update(Styled(f" Say or tap{more}"))
        entries = self.query_one("#entries", Vertical)
        await entries.remove_children()
        for start in range(0, self.a_page, COLUMNS):
            row = self.shown[start : start + COLUMNS]
            keys = [_entry(each, start + at) for at, each in enumerate(row)]
            blank = [Key("", "", classes="-small -off") for _ in range(COLUMNS - len(row))]
            await entries.mount(Horizontal(*keys, *blank, classes="row"))
        self._mark()

    def _mark(self) -> None:
        for key in self.query("#entries Key").results(Key):
            key.set_class(key.name == str(self._marked), "-marked")

    async def on_key_tapped(self, message: Key.Tapped) -> None:
        """An entry, or one of the three keys."""
        message.stop()
        name = message.key.name or ""
        if name.isdigit():
            self.dismiss(self.shown[int(name)])
        elif name:
            await self.walk((NEXT, CHOOSE, CLOSE).index(name))

    async def on_key(self, event: events.Key) -> None:
        """The keyboard, or the pedal: next, choose, close."""
        if talks(event.key, self._pedal):
            return  # on to the app: the list opens by itself, and what is read in it may be said
        event.stop()
        at = which(event.key, self._pedal)
        if at is None:
            named = {"1": 0, "down": 0, "2": 1, "enter": 1, "3": 2, "escape": 2}
            at = named.get(event.key)
        if at is not None:
            await self.walk(at)

    async def walk(self, at: int) -> None:
        """Key number `at` of the three."""
        if at == 0:
            self._marked += 1
            if self._marked >= len(self.shown):
                self._marked = 0
                self._page = (self._page + 1) % -(-len(self._panel.listed) // self.a_page)
                await self._show()
            self._mark()
        else:
            self.dismiss(self.shown[self._marked] if at == 1 and self._marked >= 0 else None)


def _entry(choice: Choice, at: int) -> Key:
    under = "" if choice.label.lower() == choice.sentence else choice.sentence
    return Key(choice.label, str(at), under, classes="-small")
