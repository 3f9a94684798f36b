"""Learning the foot pedal: press each of its keys once."""

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content as Styled
from textual.screen import ModalScreen
from textual.widgets import Static

from assistant.screen.drawn import Big
from assistant.screen.pedal import Learning


class PedalScreen(ModalScreen[tuple[str, ...] | None]):
    """Gives three keys, or four where the last one talks, None where it was left with Escape."""

    def __init__(self, talks: bool) -> None:
        """`talks`: a talk key may be learnt, too."""
        super().__init__()
        self._learning = Learning(talks)

    def compose(self) -> ComposeResult:
        """What to press now."""
        with Vertical(id="learn"):
            yield Static(id="title")
            yield Big("value")
            yield Static(id="sentence")

    def on_mount(self) -> None:
        """The first pedal."""
        self._show("")

    def _show(self, trouble: str) -> None:
        at_talk = self._learning.at_talk
        ends = "Enter: the pedal has none" if at_talk else "Escape leaves it as it was"
        self.query_one("#title", Static).update(Styled(f" Learning the pedal; {ends}"))
        wanted = "the talk key" if at_talk else f"pedal {len(self._learning.keys) + 1}"
        self.query_one("#value", Big).show(f"Press {wanted}", 5)
        self.query_one("#sentence", Static).update(Styled(f" {trouble or ', '.join(self._learning.keys)}"))

    def on_key(self, event: events.Key) -> None:
        """A pedal, or Escape."""
        event.stop()
        if event.key == "escape":
            self.dismiss(None)
            return
        trouble = self._learning.press(event.key)
        if self._learning.done:
            self.dismiss(self._learning.keys)
        else:
            self._show(trouble)
