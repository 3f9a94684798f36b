"""A job by words alone, and every ask it comes to: what pictures are drawn of, and a desk for a screen under test."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.core.length import System
from assistant.core.line import line
from assistant.core.tone import Tone
from assistant.core.turn import Turn
from assistant.cues import Cue, cue_of
from assistant.orders import read_order
from assistant.ports import Heard
from assistant.record.memory import MemoryStore
from assistant.screen.panel import Panel
from assistant.screen.view import Exchange, panel_of
from assistant.speech.grammars import grammar
from assistant.speech.understand import candidates, understand
from assistant.wording import Wording, word

WIDE = (120, 40)


@dataclass(frozen=True)
class Shot:
    """One picture."""

    name: str
    panel: Panel
    press: Sequence[str] = ()
    """Keys pressed first, to open a pad or the list."""
    theme: str = "dark"
    size: tuple[int, int] = (80, 24)


class Rehearsal:
    """A job by words, without ears, voice or file."""

    def __init__(self) -> None:
        self._told: list[Wording] = []
        self._turn = 0
        self.conversation = Conversation(MemoryStore(), self._hear, ev.Started("pictures", "none", read_order()))
        self.panel = panel_of(self.conversation.state)

    def _hear(self, wording: Wording, tone: Tone) -> None:
        self._told.append(wording)

    def accepts(self, ask: str, sentence: str) -> bool:
        """As the desk of a screen asks."""
        return understand(sentence, grammar(ask)) is not None

    def touched(self) -> None:
        """As the desk of a screen asks."""

    def tap(self, turn: int, sentence: str) -> None:
        """As the desk of a screen asks."""
        self.say(sentence)

    def say(self, *sentences: str) -> Panel:
        """Each sentence at the ask that is open; the panel after the last."""
        for text in sentences:
            ask = self.conversation.ask
            assert ask is not None, f"'{text}': the job is closed"
            self._told, meaning = [], understand(text, grammar(ask.grammar))
            turn = self.conversation.take(Heard(text, meaning, 1.0, 0.0, 1.0))
            self._turn += 1
            code = "" if self.conversation.ask else "five words stand here 1 2 3"
            if code:
                self._told.append(word(line("job_code", code=code), System.IMPERIAL))
            exchange = Exchange(self._turn, text, meaning is not None, tuple(self._told), code, self._cue(turn))
            self.panel = panel_of(self.conversation.state, exchange)
        return self.panel

    def _cue(self, turn: Turn) -> Cue:
        return cue_of(turn.events, (each.cue for each in self._told))

    def doubtful(self, *texts: str) -> Panel:
        """The ears hear one of these and do not know which."""
        ask = self.conversation.ask
        assert ask is not None, "the job is closed"
        self._told = []
        maybe = candidates(texts, grammar(ask.grammar))
        turn = self.conversation.take(Heard(texts[0], None, 0.4, 0.0, 1.0, maybe))
        self._turn += 1
        exchange = Exchange(
            self._turn, texts[0], bool(self.conversation.state.offered), tuple(self._told), cue=self._cue(turn)
        )
        self.panel = panel_of(self.conversation.state, exchange)
        return self.panel

    def silence(self) -> Panel:
        """Nobody speaks for so long that it is asked again; the turn stays."""
        self._told = []
        self.conversation.take(None)
        self.panel = panel_of(self.conversation.state, Exchange(self._turn, answers=tuple(self._told)))
        return self.panel


_BEFORE = (
    ("construction", "job four two seven"),
    ("figure", "tufted synthetic"),
    ("figure_cross", "no figure"),
    ("temperature", "the same"),
    ("humidity", "seventy two degrees"),
    ("unrolled", "forty two percent"),
    ("cushion", "thirty hours"),
    ("strip", "seven sixteenths"),
    ("gully", "one row"),
    ("slab_humidity", "three eighths"),
    ("slab_ph", "seventy percent"),
    ("size", "nine p h"),
    ("confirm", "sixteen feet two inches"),
    ("size_width", "yes"),
    ("confirm_width", "twelve feet three and five eighths"),
    ("square", "yes"),
    ("openings", "it is square"),
    ("confirm_opening", "door wall doorway from three feet until five feet six"),
    ("openings_more", "yes"),
    ("corner", "that is all"),
    ("lay", "door left"),
    ("ready_notes", "door to far"),
)
_PULLS = (
    ("pull", "ready"),
    ("pull_short", "one and a quarter"),
    ("confirm_short", "hooked"),
    ("pull_in_band", "no", "one and three quarters"),
    ("hold", "hooked"),
    ("pull_aim", "one and five eighths"),
    ("pull_over", "two and three quarters inches"),
    ("skip", "skip"),
    ("ready", "doorway"),
    ("pull_second_pass", "ready", "two and a quarter inches", "hooked", "two inches"),
    ("missed_twice", "what", "now"),
    ("missed_thrice", "then"),
    ("paused", "pause"),
)
METRES = (
    *("job one", "tufted", "no figure", "the same", "skip", "skip", "skip", "skip", "skip the rest"),
    *("three metres by three metres sixty", "yes", "it is square", "no openings", "door left", "door to far", "ready"),
)
_WALLS = ("job one", "woven", "one to one and a half percent", "yes", "no figure", "skip the rest", "wall by wall")


def shots() -> Iterator[Shot]:
    """Every ask, and what opens over it."""
    job = Rehearsal()
    yield Shot("job", job.panel)
    yield Shot("pad_digits", job.panel, ("1", "4", "2", "7"))
    for name, *said in (*_BEFORE, *_PULLS):
        panel = job.say(*said)
        yield Shot(name, panel, ("x",) if name == "ready" else ())
        if name == "size":
            yield Shot("pad_tape", panel, ("1", "1", "6", "f", "2", "i"))
        if name == "openings":
            yield Shot("pad_openings", panel, ("1",))
        if name in ("pull_short", "pull_in_band", "pull_over"):
            yield Shot(f"{name}_light", panel, (), "light", WIDE)
        if name == "pull_in_band":
            yield Shot("choose", doubted("fifteen millimetres", "fifty millimetres"))
            yield Shot("choose_light", doubted("one row", "two rows", at=8), (), "light", WIDE)
            yield Shot("did_i_hear", doubted("it slipped"))
        if name == "pull_aim":
            yield Shot("pad_reading", panel, ("1",))
            yield Shot("list_light", panel, ("3",), "light")
    job.say("resume")
    while job.panel.ask not in ("close", ""):
        job.say("ready" if job.panel.ask == "ready" else "skip furniture")
    yield Shot("close", job.panel)
    yield Shot("closed", job.say("finish job"))
    other = Rehearsal()
    yield Shot("wall", other.say(*_WALLS))
    yield Shot("pad_wall", other.panel, ("1", "1", "2", "f"))


def doubted(*texts: str, at: int = len(METRES)) -> Panel:
    """A room in metres, and an utterance the ears are in two minds about, after `at` sentences."""
    job = Rehearsal()
    job.say(*METRES[:at])
    return job.doubtful(*texts)
