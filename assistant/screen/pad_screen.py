"""The number pad: keys that make one sentence of the ask's grammar."""

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content as Styled
from textual.screen import ModalScreen
from textual.widgets import Static

from assistant.screen.choices import Choice
from assistant.screen.drawn import Big
from assistant.screen.entry import FRACTIONS, Entry
from assistant.screen.news import Desk
from assistant.screen.pad_keys import BACK, CLEAR, CLOSE, OK, PadKey, pad_rows, word_rows
from assistant.screen.panel import Panel
from assistant.screen.pedal import talks, which
from assistant.screen.sight import is_upright
from assistant.screen.tapped import LARGE_FROM, Key, common_cells

_TYPED = {"full_stop": ".", "backspace": BACK, "delete": CLEAR, "escape": CLOSE, "enter": OK, "f": "ft", "i": "in"}
_ABOVE = 5
"""Rows of the entry."""
_LARGEST = 7
"""Cells of the entry's capitals at most."""
_SHORT = 2
"""Signs of the labels that are drawn large."""


class PadScreen(ModalScreen[str | None]):
    """Gives the sentence that was made, None where it was closed."""

    def __init__(self, panel: Panel, choice: Choice, desk: Desk, pedal: tuple[str, ...]) -> None:
        super().__init__()
        self._ask, self._choice, self._desk, self._pedal = panel.ask, choice, desk, pedal
        self.entry = Entry(panel.pad(choice.pad))
        self._upright = False
        self._marked = -1

    @property
    def _rows(self) -> tuple[tuple[PadKey, ...], ...]:
        return (*pad_rows(self.entry.pad, self._upright), *word_rows(self.entry.pad))

    def compose(self) -> ComposeResult:
        """The entry above, the keys below."""
        self._upright = is_upright(*self.app.size)
        with Vertical(id="pad"):
            yield Static(id="title")
            yield Big("entry")
            yield Static(id="sentence")
            for row in self._rows:
                with Horizontal(classes="row"):
                    for each in row:
                        yield Key(each.label, each.press or each.label, classes=_classes(each))

    async def on_mount(self) -> None:
        """Nothing is entered yet."""
        await self.on_resize()

    async def on_resize(self) -> None:
        """The keys are laid anew where the panel was turned; rows of keys are all of one height."""
        columns, lines = self.app.size
        if is_upright(columns, lines) != self._upright:
            await self.recompose()
        high = max(3, (lines - _ABOVE) // len(self._rows))
        large = min(high - 1, max(LARGE_FROM, high - 3))
        small = common_cells(FRACTIONS, columns // max(map(len, self._rows)) - 1, high - 1)
        for row in self.query(".row"):
            row.styles.height = high
        for key in self.query(Key).results(Key):
            key.cells = large if len(key.label) <= _SHORT else small if key.label in FRACTIONS else 1
        self._show()

    def _show(self) -> None:
        sentence = self.entry.sentence
        whole = self._desk.accepts(self._ask, sentence)
        self.query_one("#title", Static).update(Styled(f" {self._choice.label}, for example: {self._choice.like}"))
        self.query_one("#entry", Big).show(self.entry.shown or "...", _LARGEST)
        said = f"✓ {sentence}" if whole else f"… {sentence}" if self.entry.presses else ""
        self.query_one("#sentence", Static).update(Styled(f" {said}"))
        for key in self.query(Key).results(Key):
            key.set_class(not whole if key.name == OK else not key.label, "-off")

    def on_key_tapped(self, message: Key.Tapped) -> None:
        """A key of the pad."""
        message.stop()
        self.press(message.key.name or "")

    def on_key(self, event: events.Key) -> None:
        """Typed, or pressed by foot: next key, press it, close."""
        if talks(event.key, self._pedal):
            return  # on to the app: who talks need not close the pad first
        event.stop()
        at = which(event.key, self._pedal)
        if at is not None:
            self._by_foot(at)
        elif event.character and event.character.isdecimal():
            self.press(event.character)
        elif event.key in _TYPED:
            self.press(_TYPED[event.key])

    def _by_foot(self, at: int) -> None:
        keys = [each for each in self.query(Key).results(Key) if each.label]
        if at == 0:
            self._marked = (self._marked + 1) % len(keys)
            for place, each in enumerate(keys):
                each.set_class(place == self._marked, "-marked")
        else:
            self.press(CLOSE if at == 2 or self._marked < 0 else keys[self._marked].name or "")

    def press(self, name: str) -> None:
        """A press, or an action by its name."""
        self._desk.touched()
        match name:
            case "":
                return
            case _ if name == CLOSE:
                self.dismiss(None)
            case _ if name == OK:
                if self._desk.accepts(self._ask, self.entry.sentence):
                    self.dismiss(self.entry.sentence)
                return
            case _ if name == BACK:
                self.entry = self.entry.back()
            case _ if name == CLEAR:
                self.entry = Entry(self.entry.pad)
            case _:
                self.entry = self.entry.press(name)
        if name != CLOSE:
            self._show()


def _classes(key: PadKey) -> str:
    return "-small" if key.label else "-small -off"
