"""The session in a terminal: one ask at a time, in type that is read across the room."""

from collections.abc import Callable
from pathlib import Path
from textwrap import wrap
from typing import ClassVar

from textual import events
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content as Styled
from textual.message import Message
from textual.widgets import Static

from assistant.screen.choices import Choice
from assistant.screen.drawn import Big, RoomView, Strip, meter
from assistant.screen.hang_up import hung_up, is_terminal
from assistant.screen.layout import Layout, fits, layout, needed
from assistant.screen.list_screen import ListScreen
from assistant.screen.news import Desk, Listening, News, Sign, Trouble
from assistant.screen.notes_screen import NotesScreen
from assistant.screen.pad_screen import PadScreen
from assistant.screen.palette import PALETTES, THEMES, Palette
from assistant.screen.panel import Content, Panel
from assistant.screen.pedal import talks, which
from assistant.screen.pedal_screen import PedalScreen
from assistant.screen.tapped import Key, common_cells
from assistant.screen.themes import variables

WAITING = Panel(0, "", "", Content("One moment", "pullcall"))
"""Until the first question."""
MOST_LINES = 3
"""Rows that what was heard and answered may take."""
UNDER_FROM = 6
"""Rows of the big keys from which on they show what can be said instead."""
LIST_AT, OFFER_AT = 2, 3
"""At so many misses in a row the list is opened, and the keys are offered."""


class Told(Message):
    """News for the screen."""

    def __init__(self, news: News) -> None:
        super().__init__()
        self.news = news


class PullcallApp(App[None]):
    """One thin screen; whatever it knows stands in its panel."""

    CSS_PATH = Path(__file__).parent / "app.tcss"
    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+c,ctrl+q", "quit", "Stop", priority=True),
        Binding("ctrl+t", "theme", "Light or dark", priority=True),
        Binding("ctrl+l", "learn", "Learn the pedal"),
    ]

    def __init__(
        self,
        desk: Desk,
        *,
        theme: str = "dark",
        pedal: tuple[str, ...] = (),
        learnt: Callable[[tuple[str, ...]], object] = lambda keys: None,
        begin: Callable[[], object] = lambda: None,
        talk: Callable[[], object] = lambda: None,
        learn_talk: bool = False,
    ) -> None:
        """`learnt` keeps the pedal's keys, one to talk among them where `learn_talk`.

        `begin` is called once the screen stands, `talk` by the talk key.
        """
        self.palette: Palette = PALETTES[theme]
        super().__init__()
        self._desk, self.pedal, self._learnt, self._begin, self._talk = desk, pedal, learnt, begin, talk
        self._learn_talk = learn_talk
        self.panel = WAITING
        self.level = ""
        self.trouble = ""
        self._missing: list[str] = []
        """Troubles told before the first question: parts that are not there."""
        self.signs = 0
        """First signs of utterances shown so far."""

    def get_css_variables(self) -> dict[str, str]:
        """The library's, and ours."""
        return {**super().get_css_variables(), **variables(self.palette)}

    def tell(self, news: News) -> None:
        """News from any thread."""
        self.post_message(Told(news))

    def compose(self) -> ComposeResult:
        """The parts from top to bottom."""
        yield Static(id="small")
        with Vertical(id="whole"):
            yield Static(id="header")
            with Horizontal(id="upper"):
                with Vertical(id="large"):
                    yield Big("instruction")
                    yield Big("value")
                yield RoomView("room")
            yield Strip("strip")
            yield Static(id="facts")
            yield Static(id="answers")
            with Horizontal(id="keys"):
                for at in range(3):
                    yield Key("", str(at))

    def on_mount(self) -> None:
        """The screen stands."""
        self.refresh_panel()
        self._begin()
        if is_terminal():
            self.set_interval(1.0, self._end_when_left)

    def _end_when_left(self) -> None:
        if hung_up():
            self.exit()

    def on_resize(self, event: events.Resize) -> None:
        """Another size of terminal."""
        self.call_after_refresh(self.refresh_panel)

    def on_told(self, message: Told) -> None:
        """News arrived."""
        match message.news:
            case Panel():
                self._new_panel(message.news)
            case Listening():
                self.level = meter(message.news)
                self._header()
            case Sign(heard):
                self.signs += 1
                self._answers(f"... {heard}")
            case Trouble(line):
                self.trouble = line
                if self.panel is WAITING:
                    self._missing.append(line)
                self._answers()

    def _new_panel(self, panel: Panel) -> None:
        same, misses = (panel.turn, panel.ask) == (self.panel.turn, self.panel.ask), self.panel.misses
        self.panel, self.trouble = panel, ""
        while not same and len(self.screen_stack) > 1 and not isinstance(self.screen, PedalScreen):
            self.pop_screen()
        self.refresh_panel()
        notes, self._missing = (*self._missing, *panel.notes), []
        if notes:
            self.push_screen(NotesScreen(notes, self.pedal))
        elif panel.misses == LIST_AT and not (same and (misses == LIST_AT or len(self.screen_stack) > 1)):
            self._more()

    # --- Drawing ------------------------------------------------------------------------------------------------

    def refresh_panel(self) -> None:
        """Draw the panel anew."""
        columns, rows = self.size
        fit = fits(columns, rows)
        base = self.screen_stack[0]
        base.query_one("#small").display = not fit
        base.query_one("#whole").display = fit
        if not fit:
            base.query_one("#small", Static).update(needed(columns, rows))
            return
        self._draw(layout(columns, rows))

    def _draw(self, sizes: Layout) -> None:
        base, panel, content = self.screen_stack[0], self.panel, self.panel.content
        room = base.query_one("#room", RoomView)
        room.display = panel.room is not None
        room.styles.width = sizes.room_columns
        room.show(panel.room, self.palette)
        instruction = base.query_one("#instruction", Big)
        said = "Tap a key" if panel.misses >= OFFER_AT and panel.ask != "paused" else content.instruction
        instruction.styles.height = sizes.instruction + 1
        instruction.display = bool(said)
        instruction.show(said, sizes.instruction)
        strip = base.query_one("#strip", Strip)
        strip.styles.height = sizes.strip + 2
        strip.show(content.badge, content.beside, sizes.strip, self.palette)
        base.query_one("#keys").styles.height = sizes.keys
        self._keys()
        self._header()
        code = f"Job code: {panel.code}" if panel.code else ""
        self._text("#facts", self._line(panel.target, panel.last, code))
        self._answers()

    def _keys(self) -> None:
        sizes, keys = layout(*self.size), self.panel.keys
        under = sizes.keys >= UNDER_FROM
        cells = common_cells((each.label for each in keys), sizes.columns // 3 - 1, sizes.keys - 1 - under)
        for at, key in enumerate(self.screen_stack[0].query("#keys Key").results(Key)):
            key.visible = at < len(keys)
            if at < len(keys):
                said = keys[at].sentence if under and keys[at].label.lower() != keys[at].sentence else ""
                key.show(keys[at].label, said[: sizes.columns // 3 - 3], cells)

    def _header(self) -> None:
        if self.panel is WAITING:  # neither job nor microphone is known yet
            return
        place = str(self.panel.place)
        width = self.size.width - len(self.level) - 8
        level = f"mic {self.level}" if self.level else "no mic"
        self._text("#header", Styled(f" {place[:width].ljust(width)} {level}"))

    def _text(self, part: str, text: Styled) -> None:
        """Its place is fixed, so nothing else has to be laid out anew."""
        self.screen_stack[0].query_one(part, Static).update(text, layout=False)

    def _line(self, *parts: str) -> Styled:
        return Styled(" " + "   ".join(filter(None, parts))[: self.size.width - 2])

    def _answers(self, sign: str = "") -> None:
        panel = self.panel
        heard = f"heard: {panel.heard}" if panel.understood else f"not understood: {panel.heard}"
        said = " ".join(panel.answers) or panel.question
        mark = "" if panel.cue is None else f"{panel.cue.sign} "
        parts = (sign,) if sign else (self.trouble,) if self.trouble else (mark + heard if panel.heard else mark, said)
        lines = wrap("   ".join(filter(None, parts)), self.size.width - 2)[:MOST_LINES] or [""]
        self._make_room(len(lines))
        self._text("#answers", Styled("\n".join(f" {each}" for each in lines)))

    def _make_room(self, lines: int) -> None:
        """Rows for the answers; a long one takes them from the value."""
        base, sizes = self.screen_stack[0], layout(*self.size)
        base.query_one("#answers").styles.height = lines
        base.query_one("#upper").styles.height = sizes.upper - lines + 1
        base.query_one("#value", Big).show(self.panel.content.value, sizes.value - lines + 1)

    # --- Taps ---------------------------------------------------------------------------------------------------

    def on_key_tapped(self, message: Key.Tapped) -> None:
        """One of the big keys."""
        self.press(int(message.key.name or 0))

    def on_key(self, event: events.Key) -> None:
        """The keyboard, or the pedal."""
        if talks(event.key, self.pedal):
            self._talk()
            return
        at = which(event.key, self.pedal)
        if at is None and event.key in "123":
            at = int(event.key) - 1
        if at is not None:
            event.stop()
            self.press(at)
        elif event.key in ("m", "question_mark"):
            self._more()

    def press(self, at: int) -> None:
        """Key number `at`, from 0."""
        if not self.panel.ask:
            if self.panel.code:
                self.exit()
            return
        if at < len(self.panel.keys):
            self.choose(self.panel.keys[at])

    def choose(self, choice: Choice | None) -> None:
        """A choice of the ask: said, or its pad opened."""
        if choice is None:
            return
        if choice.say:
            self._desk.tap(self.panel.turn, choice.say)
        elif choice.pad:
            self.push_screen(PadScreen(self.panel, choice, self._desk, self.pedal), self._entered)
        else:
            self._more()

    def _entered(self, sentence: str | None) -> None:
        if sentence:
            self._desk.tap(self.panel.turn, sentence)

    def _more(self) -> None:
        if self.panel.listed:
            self.push_screen(ListScreen(self.panel, self.pedal), self.choose)

    def action_theme(self) -> None:
        """The other theme."""
        self.palette = PALETTES[THEMES[1 - THEMES.index(self.palette.name)]]
        self.refresh_css()
        self.refresh_panel()

    def action_learn(self) -> None:
        """Learn the pedal."""

        def keep(keys: tuple[str, ...] | None) -> None:
            if keys:
                self.pedal = keys
                self._learnt(keys)

        self.push_screen(PedalScreen(self._learn_talk), keep)
