"""Ears at a sitting: blocks of sound in, utterances out, in a thread of their own. Nothing is heard while it speaks."""

import threading
from collections.abc import Callable, Iterable

import numpy as np

from assistant.exits import Refusal
from assistant.ports import RATE, Ears, Listener
from assistant.screen.news import Listening, Trouble
from assistant.sitting import Sitting
from assistant.speaker import Speaker

NEWS_BLOCKS = 3
"""The level is told every so many blocks: about ten times a second."""


class Hearer:
    """Listens under the grammar of the question that is open."""

    def __init__(
        self,
        blocks: Iterable[bytes],
        ears: Ears,
        sitting: Sitting,
        speaker: Speaker,
        tell: Callable[[Listening | Trouble], object],
    ) -> None:
        """`blocks`: RATE, mono, int16 LE; their iteration may raise Refusal, which is told as a trouble."""
        self._blocks, self._ears, self._sitting, self._speaker, self._tell = blocks, ears, sitting, speaker, tell
        self._question: tuple[int, str] | None = None
        self._listener: Listener | None = None
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
            self._listen()
        except Refusal as refusal:
            self._tell(Trouble(f"{refusal.line}; tap instead"))

    def _listen(self) -> None:
        peak, count = 0.0, 0
        for block in self._blocks:
            if self._stopped.is_set():
                return
            deaf = self._speaker.deaf
            peak, count = max(peak, _peak(block)), count + 1
            if count == NEWS_BLOCKS:
                self._tell(Listening(peak, deaf))
                peak, count = 0.0, 0
            self._feed(block, deaf)

    def _feed(self, block: bytes, deaf: bool) -> None:
        question = self._sitting.open_question
        if deaf or question is None or not block:  # no sound comes: what was half said is not glued to what comes next
            self._listener = None
            return
        if self._listener is None or question != self._question:
            self._question, self._listener = question, self._ears.listen(question[1])
        heard = self._listener.feed(block)
        if heard is None:
            self._sitting.listened(question[0], len(block) / 2 / RATE, self._listener.speaking)
        else:
            self._listener = None
            self._sitting.hear(question[0], heard)


def _peak(block: bytes) -> float:
    loud = np.abs(np.frombuffer(block, "<i2").astype(np.int32))
    return float(loud.max()) / 32768 if loud.size else 0.0
