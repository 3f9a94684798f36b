"""Cautions and other answers that are only shown."""

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from assistant.screen.pedal import talks
from assistant.screen.tapped import Key


class NotesScreen(ModalScreen[None]):
    """Closed by any key; the next answer closes it, too."""

    def __init__(self, notes: tuple[str, ...], pedal: tuple[str, ...]) -> None:
        super().__init__()
        self._notes, self._pedal = notes, pedal

    def compose(self) -> ComposeResult:
        """The notes, one below the other."""
        with Vertical(id="list"):
            with VerticalScroll(id="notes"):
                yield Static("\n\n".join(self._notes), markup=False)
            with Horizontal(id="bottom"):
                key = Key("Read", "read")
                key.cells = 3
                yield key

    def on_key_tapped(self, message: Key.Tapped) -> None:
        """Read."""
        message.stop()
        self.dismiss(None)

    def on_key(self, event: events.Key) -> None:
        """Any key but those that scroll; the talk key talks, too."""
        if event.key not in ("up", "down", "pageup", "pagedown"):
            if not talks(event.key, self._pedal):
                event.stop()
            self.dismiss(None)
