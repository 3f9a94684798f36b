"""Says lines one after the other in a thread of its own; a tap hushes it."""

import contextlib
import queue
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import chain, repeat
from pathlib import Path
from typing import Protocol

from assistant.core.tone import PLAIN, Tone
from assistant.cues import Cue
from assistant.exits import Exit, Refusal, one_line
from assistant.ports import Voice
from assistant.wording import Wording

RINGING_S = 0.4
"""So long after the voice the room still rings with it."""

SOON_S = 1.0
"""A line that takes the voice longer is not about to be heard; making one takes 0.05 s."""

LOOKS_S = (5.0, 10.0, 20.0, 40.0, 60.0)
"""So long a loudspeaker that failed is left alone before the next line; the last wait again and again."""


class Sounder(Protocol):
    """What plays a WAV."""

    def play(self, wav: Path, wanted: Callable[[], bool]) -> None:
        """To its end, or until it is no longer wanted. Raises Refusal (NO_VOICE)."""


class Speaker:
    """The voice of a sitting. Without voice or loudspeaker it is silent at once."""

    def __init__(
        self,
        voice: Voice | None,
        sounder: Sounder | None,
        trouble: Callable[[str], object],
        rehearsed: Sequence[str] = (),
        ringing_s: float = RINGING_S,
        tones: Mapping[Cue, Path] | None = None,
    ) -> None:
        """`trouble` is told, once each, why a line is not said. A full disk drops the line; a lost voice drops
        also what waited, late by now, save alarms. A loudspeaker that fails is left alone a while; all is dropped then.

        `rehearsed`, the alarms, is made into sound after the first line, before it is needed: a full disk takes no new
        sound.
        """
        self._voice, self._sounder, self._trouble = voice, sounder, trouble
        self._rehearsed = tuple(rehearsed)
        self._alarms: dict[str, Path] = {}
        self._told: set[str] = set()
        self._ringing_s = ringing_s
        self._tones = dict(tones or {})
        self._lines: queue.SimpleQueue[tuple[int, Wording | Path, Tone] | None] = queue.SimpleQueue()
        self._round = 0
        self._waiting = 0
        self._lock = threading.Lock()
        self._late = 0
        """Of the lines that wait, so many were already late when the voice was lost."""
        self._silent_since = float("-inf")
        self._failed, self._looks_at = "", float("-inf")
        """Why the loudspeaker failed when it was last tried, and when it is tried again."""
        self._looks = _looks()
        self._asked_since = float("inf")
        """The voice was asked for a line then, and has not given it yet."""
        self._thread = threading.Thread(target=self._run, name="speaker", daemon=True)
        self._thread.start()

    @property
    def deaf(self) -> bool:
        """It speaks, is about to, or the room still rings with it: nothing heard now is the installer's."""
        now = time.monotonic()
        speaks = self._waiting > 0 and now - self._asked_since < SOON_S
        return speaks or now - self._silent_since < self._ringing_s

    @property
    def unsaid(self) -> int:
        """Lines and tones still to be heard to their end."""
        return self._waiting

    def say(self, wording: Wording, tone: Tone) -> None:
        """Say a line after those that wait; a line that is only shown is none."""
        if wording.say:
            self._put(wording, tone)

    def sound(self, cue: Cue) -> None:
        """Sound a cue after the lines that wait; without tones it is only seen. Nothing is heard meanwhile."""
        if cue in self._tones:
            self._put(self._tones[cue], PLAIN)

    def _put(self, what: Wording | Path, tone: Tone) -> None:
        if self._sounder is not None:
            with self._lock:
                self._waiting += 1
            self._lines.put((self._round, what, tone))

    def hush(self) -> None:
        """Drop what waits and end what plays."""
        self._round += 1

    def finish(self, timeout_s: float) -> None:
        """Say what waits, then end; what takes longer is dropped."""
        self._lines.put(None)
        self._thread.join(timeout_s)
        self.hush()

    def _run(self) -> None:
        while (got := self._lines.get()) is not None:
            late, self._late = self._late > 0, max(0, self._late - 1)
            if self._done(*got, late=late):
                self._rehearse()

    def _done(self, round_: int, what: Wording | Path, tone: Tone, *, late: bool) -> bool:
        """Was it said, or dropped as it should be? False = something was wrong, and is told."""
        try:
            if round_ == self._round and (not late or (isinstance(what, Wording) and what.say in self._alarms)):
                self._play(round_, what, tone)
            return True
        except Refusal as refusal:
            if refusal.code is not Exit.NOT_WRITABLE:
                self._late = self._lines.qsize()
            self._tell_once(refusal.line)
        except Exception as error:  # a thread that died would be dumb, and deaf for ever
            self._tell_once(_unforeseen(what, error))
        finally:
            with self._lock:
                self._waiting -= 1
        return False

    def _tell_once(self, line: str) -> None:
        if line not in self._told:
            self._told.add(line)
            self._trouble(line)

    def _rehearse(self) -> None:
        if self._voice is None or self._sounder is None:
            return
        with contextlib.suppress(Exception):  # told when a line cannot be said; what is left is tried after the next
            while self._rehearsed:
                text = self._rehearsed[0]
                self._alarms[text] = self._spoken(self._voice, text)
                self._rehearsed = self._rehearsed[1:]

    def _play(self, round_: int, what: Wording | Path, tone: Tone) -> None:
        if self._voice is None or self._sounder is None or time.monotonic() < self._looks_at:
            return
        wav = what if isinstance(what, Path) else self._made(self._voice, what, tone)
        try:
            self._sounder.play(wav, lambda: round_ == self._round)
        except Refusal as refusal:
            self._failed, self._looks_at = refusal.line, time.monotonic() + next(self._looks)
            raise
        else:
            self._told.discard(self._failed)
            self._failed, self._looks = "", _looks()
        finally:
            self._silent_since = time.monotonic()

    def _made(self, voice: Voice, what: Wording, tone: Tone) -> Path:
        """The line as a WAV; an alarm that cannot be made in this tone is said as it was rehearsed."""
        try:
            return self._spoken(voice, what.say, what.helper, tone)
        except Refusal:
            if what.say not in self._alarms:
                raise
            return self._alarms[what.say]

    def _spoken(self, voice: Voice, text: str, helper: bool = False, tone: Tone = PLAIN) -> Path:
        self._asked_since = time.monotonic()
        try:
            return voice.speak(text, helper=helper, tone=tone)
        finally:
            self._asked_since = float("inf")


def _looks() -> Iterator[float]:
    return chain(LOOKS_S, repeat(LOOKS_S[-1]))


def _unforeseen(what: Wording | Path, error: Exception) -> str:
    name = what.name if isinstance(what, Path) else what.say
    why = " ".join(f"{type(error).__name__}: {error}".split())
    return one_line(f"voice: {name!r} is not said ({why}); read it on the screen")
