"""Commands that nobody gave: background through the ears, as a session uses them, in one manner or another.

The hearer, the ears and the attention word are the program's own; their clock passes with the sound. Nobody answers, so
the ask does not follow from what is heard, but changes every few minutes as in a job.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from assistant.attention import Attention, Manners
from assistant.exits import Exit, Refusal
from assistant.hearer import Hearer
from assistant.hearing.background_sound import Playing, Stretch
from assistant.ports import RATE, Ears, Heard, Listener
from assistant.screen.news import Listening as Level
from assistant.screen.news import Trouble
from assistant.speaker import Speaker
from assistant.speech.endpoint import WINDOW

WORD = "hello tape measure"
OPEN_S = Manners().open_s
MANNERS = {"open always": Manners(), f"after '{WORD}'": Manners(attention=WORD, open_s=OPEN_S)}
ASKS = ("pull", "hold", "pull", "confirm", "pull", "ready", "pull", "size", "pull", "wall", "pull", "figure")
"""One after the other, again and again."""
_WINDOW_S = WINDOW / RATE


@dataclass(frozen=True)
class Piece:
    """A part of one kind's hours."""

    kind: str
    number: int
    begin_s: float
    """Seconds into the kind's hours."""
    seconds: float
    ask_s: float
    seed: int

    def turn(self, passed_s: float) -> int:
        """Which turn it is so many seconds into the piece."""
        return int((self.begin_s + passed_s) / self.ask_s + 1e-9)


@dataclass(frozen=True)
class Executed:
    """A command that nobody gave."""

    manner: str
    kind: str
    ask: str
    at_s: float
    """Where its speech begins, seconds into the kind's hours."""
    text: str
    score: float
    playing: str
    """What played meanwhile."""


@dataclass
class Count:
    """What happened in one manner, of one kind, at one ask."""

    seconds: float = 0.0
    open_s: float = 0.0
    """Of them the ears were open."""
    opened: int = 0
    """Times the attention word was heard."""
    begun: int = 0
    """Utterances begun while they were open, knocks included."""
    refused: int = 0
    """Words that were not understood, or not trusted."""
    doubted: int = 0
    """Of them so many were asked about: 'Did I hear ...?'"""
    executed: int = 0

    def add(self, other: "Count") -> None:
        """What happened elsewhere, too."""
        for name, more in vars(other).items():
            setattr(self, name, getattr(self, name) + more)


Key = tuple[str, str, str]
"""Manner, kind, ask."""


@dataclass(frozen=True)
class Held:
    """Resident memory of a process, MB; NaN where the system tells none."""

    process: int
    kind: str
    """What it had last heard."""
    opened_mb: float
    """When its ears had been opened."""
    now_mb: float


@dataclass
class Found:
    """What came of it; of a piece, or of all."""

    counts: dict[Key, Count] = field(default_factory=dict)
    executed: list[Executed] = field(default_factory=list)
    held: list[Held] = field(default_factory=list)
    worked_s: dict[str, float] = field(default_factory=dict)
    """Kind -> processor time, the sound's making included."""

    def count(self, *key: str) -> Count:
        """That of a Key, to be added to."""
        return self.counts.setdefault((key[0], key[1], key[2]), Count())

    def add(self, other: "Found") -> None:
        """What came of another piece."""
        for key, each in other.counts.items():
            self.count(*key).add(each)
        self.executed += other.executed
        self.held += other.held
        for kind, worked in other.worked_s.items():
            self.worked_s[kind] = self.worked_s.get(kind, 0.0) + worked

    def total(self, manner: str, kind: str = "", ask: str = "") -> Count:
        """Over every kind and ask that is not named."""
        whole = Count()
        for key, each in self.counts.items():
            if key[0] == manner and kind in ("", key[1]) and ask in ("", key[2]):
                whole.add(each)
        return whole


class Listening:
    """One piece heard in one manner: the blocks, the clock, the questions and the ears of one hearer."""

    def __init__(self, manner: str, piece: Piece, ears: Ears, found: Found, speaker: Speaker) -> None:
        """What is counted goes into `found`."""
        self._manner, self._piece, self._ears, self._found = manner, piece, ears, found
        self._passed_s = self._begun_s = 0.0
        self._speaking = False
        self._blocks = b""
        self._playing = list[Playing]()
        self._attention = Attention(MANNERS[manner], lambda: self._passed_s)
        self._hearer = Hearer(self, self, self, speaker, _refuse, self._attention)

    def hear_on(self, stretch: Stretch) -> None:
        """The next of the piece's sound."""
        begin = self._passed_s
        self._playing += [Playing(begin + each.begin_s, begin + each.end_s, each.what) for each in stretch.playing]
        self._blocks = stretch.samples
        self._hearer.listen()

    def __iter__(self) -> Iterator[bytes]:
        """As a microphone; what was yielded has been heard when the next is asked for."""
        for at in range(0, len(self._blocks), 2 * WINDOW):
            block, was_open = self._blocks[at : at + 2 * WINDOW], self._attention.open
            self._passed_s += len(block) / 2 / RATE
            count = self._count
            count.seconds += len(block) / 2 / RATE
            yield block
            count.opened += self._attention.open and not was_open

    @property
    def open_question(self) -> tuple[int, str]:
        """As hearer.Asker."""
        turn = self._piece.turn(self._passed_s - _WINDOW_S)
        return turn, ASKS[turn % len(ASKS)]

    @property
    def _count(self) -> Count:
        return self._found.count(self._manner, self._piece.kind, self.open_question[1])

    def listened(self, turn: int, seconds: float, speaking: bool) -> None:
        """As hearer.Asker."""
        self._count.open_s += seconds
        self._count.begun += speaking and not self._speaking
        self._speaking = speaking

    def hear(self, turn: int, heard: Heard) -> None:
        """As hearer.Asker."""
        self._speaking = False
        if heard.meaning is None:
            self._count.refused += bool(heard.text)
            self._count.doubted += bool(heard.maybe)
            return
        self._count.executed += 1
        begin, end = self._begun_s + heard.start_s, self._begun_s + heard.end_s
        playing = "; ".join(each.what for each in self._playing if each.begin_s < end and begin < each.end_s)
        at_s, ask = self._piece.begin_s + begin, self.open_question[1]
        self._found.executed.append(
            Executed(self._manner, self._piece.kind, ask, at_s, heard.text, heard.score, playing)
        )

    def listen(self, ask: str) -> Listener:
        """As ports.Ears; the listener's time counts from here."""
        self._begun_s = self._passed_s - _WINDOW_S
        return self._ears.listen(ask)


def _refuse(news: Level | Trouble) -> None:
    """Where the ears failed the hours would go on, and nothing counted."""
    if isinstance(news, Trouble):
        raise Refusal(Exit.FINDINGS, f"background: {news.line}")
