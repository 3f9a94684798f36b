"""Ears at a sitting or a practice: blocks of sound in, utterances out. Nothing is heard while it speaks."""

import threading
from collections.abc import Callable, Iterable
from typing import Protocol

import numpy as np

from assistant.aside import say_aside, show_aside
from assistant.attention import Attention, Manners
from assistant.core.length import System
from assistant.core.line import line
from assistant.exits import Refusal, one_line
from assistant.keeping import Recent
from assistant.ports import RATE, Ears, Heard, Listener
from assistant.screen.news import Listening, Trouble
from assistant.speaker import Speaker
from assistant.speech.level import level_hint
from assistant.wariness import Wariness
from assistant.wording import Wording, word

NEWS_BLOCKS = 3
"""The level is told every so many blocks: about ten times a second."""
AGAIN_S = 2.0
"""So much sound passes before ears that failed are tried again."""


class Asker(Protocol):
    """Whoever asks and is answered: a sitting, or a practice."""

    @property
    def open_question(self) -> tuple[int, str] | None:
        """Turn and grammar to listen for; None = nothing is asked."""

    def listened(self, turn: int, seconds: float, speaking: bool) -> None:
        """So many more seconds were listened to the question of `turn`; `speaking` = somebody is in mid-sentence."""

    def hear(self, turn: int, heard: Heard) -> None:
        """An utterance at the question of `turn`."""


class Hearer:
    """Listens under the grammar of the question that is open, or for the attention word."""

    def __init__(
        self,
        blocks: Iterable[bytes],
        ears: Ears,
        asker: Asker,
        speaker: Speaker,
        tell: Callable[[Listening | Trouble], object],
        attention: Attention | None = None,
    ) -> None:
        """`blocks`: RATE, mono, int16 LE. `attention` None = the ears are always open.

        Ears that fail are told, shown and said, and tried again; so is their hearing again.
        """
        self._blocks, self._ears, self._asker, self._speaker, self._tell = blocks, ears, asker, speaker, tell
        self._attention = attention or Attention(Manners())
        self._question: tuple[int, str] | None = None
        self._under = ""
        self._listener: Listener | None = None
        self._recent = Recent()
        self._wariness = Wariness()
        self._hint = ""
        self._failed, self._pause_s = False, 0.0
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._run, name="hearer", daemon=True)

    def start(self) -> None:
        """Begin to listen."""
        self._thread.start()

    def stop(self, timeout_s: float = 1.0) -> None:
        """Listen no more."""
        self._stopped.set()
        self._thread.join(timeout_s)

    def _run(self) -> None:
        try:
            self.listen()
        except Exception as error:  # whatever it is: nobody must think that something is still heard
            self._tell_aside("ears_failed", f"{_why(error)}; tap instead, and start pullcall again to be heard")
            self._tell(Listening(0.0, deaf=False, waits=_worded("ears_failed").show))

    def listen(self) -> None:
        """In the caller's thread, until the blocks end or it is stopped. Raises what the blocks raise."""
        peak, count = 0.0, 0
        for block in self._blocks:
            if self._stopped.is_set():
                return
            self._wariness.passes(len(block) / 2 / RATE)
            self._pause_s -= len(block) / 2 / RATE
            deaf = self._speaker.deaf
            peak, count = max(peak, _peak(block)), count + 1
            if count == NEWS_BLOCKS or not block:
                waits = _worded("ears_failed").show if self._failed else self._attention.waits
                self._tell(Listening(peak, deaf, self._hint, waits, not block))
                peak, count = 0.0, 0
            self._feed(block, deaf)

    def _feed(self, block: bytes, deaf: bool) -> None:
        if deaf:
            self._attention.speaks()
        question = self._asker.open_question
        # Where no sound comes, what was half said is not glued to what comes next.
        if deaf or question is None or not block or self._pause_s > 0:
            self._listener = None
            return
        try:
            listener = self._listener = self._listener_for(question)
            heard = None if listener is None else listener.feed(block)
        except Exception as error:  # a temporary folder without room, and whatever else: the next try may succeed
            self._fails(error)
            return
        if listener is None:
            return
        self._hears()
        self._recent.take(block)
        if heard is None:
            if self._under == question[1]:
                self._asker.listened(question[0], len(block) / 2 / RATE, listener.speaking)
        else:
            self._listener = None
            if self._attention.heard(heard, self._under):
                self._tell_level(heard)
                self._asker.hear(question[0], self._wariness.judge(heard))

    def _fails(self, error: Exception) -> None:
        self._listener, self._pause_s = None, AGAIN_S
        if not self._failed:
            self._failed = True
            self._tell_aside("ears_failed", f"{_why(error)}; nothing is heard, tap meanwhile")

    def _hears(self) -> None:
        if self._failed:
            self._failed = False
            self._tell_aside("ears_back", _worded("ears_back").show)

    def _tell_aside(self, key: str, shown: str) -> None:
        show_aside(_worded(key), shown, self._tell)
        say_aside(_worded(key), self._speaker)

    def _listener_for(self, question: tuple[int, str]) -> Listener | None:
        """The one that listens, unless another question or another grammar is to be listened under by now."""
        kept = self._listener if question == self._question else None
        under = self._attention.under(question[1])
        if kept is not None and (under == self._under or (self._under == question[1] and kept.speaking)):
            return kept  # who began to speak in time is heard to the end
        self._question, self._under, self._recent = question, under or "", Recent()
        self._listener = kept = None  # the one before holds a model until it is let go
        return None if under is None else self._ears.listen(under)

    def _tell_level(self, heard: Heard) -> None:
        """The level of an utterance, until the next one shows another."""
        if heard.text:
            level = level_hint(self._recent.between(heard.start_s, heard.end_s))
            self._hint = "" if level is None else _worded(level.value).show


def _why(error: Exception) -> str:
    return error.line if isinstance(error, Refusal) else one_line(f"ears: {type(error).__name__}: {error}")


def _worded(key: str) -> Wording:
    return word(line(key), System.IMPERIAL)


def _peak(block: bytes) -> float:
    loud = np.abs(np.frombuffer(block, "<i2").astype(np.int32))
    return float(loud.max()) / 32768 if loud.size else 0.0
