"""Ears that keep the sound of what they hear, for `--keep-audio`."""

from collections import deque
from dataclasses import replace

from assistant.ports import RATE, Ears, Heard, Listener

BEFORE_S, AFTER_S = 0.3, 0.2
"""So much around the speech is kept with it."""
LONGEST_S = 12.0
"""Longer than any utterance; what is older is forgotten."""


class KeepingEars:
    """Ears that put its samples to everything heard. Implements ports.Ears."""

    def __init__(self, inner: Ears) -> None:
        self._inner = inner

    def listen(self, ask: str) -> "KeepingListener":
        """As the port asks."""
        return KeepingListener(self._inner.listen(ask))


class KeepingListener:
    """A listener that remembers the last seconds."""

    def __init__(self, inner: Listener) -> None:
        self._inner = inner
        self._blocks: deque[bytes] = deque()
        self._dropped = self._held = 0

    @property
    def speaking(self) -> bool:
        """As the port asks."""
        return self._inner.speaking

    def feed(self, block: bytes) -> Heard | None:
        """As the port asks."""
        self._blocks.append(block)
        self._held += len(block)
        while self._held - len(self._blocks[0]) > LONGEST_S * RATE * 2:
            gone = len(self._blocks.popleft())
            self._held -= gone
            self._dropped += gone
        return self._with_sound(self._inner.feed(block))

    def finish(self) -> Heard | None:
        """As the port asks."""
        return self._with_sound(self._inner.finish())

    def _with_sound(self, heard: Heard | None) -> Heard | None:
        if heard is None or not heard.text:
            return heard
        start = self._place(heard.start_s - BEFORE_S)
        return replace(heard, sound=b"".join(self._blocks)[start : self._place(heard.end_s + AFTER_S)])

    def _place(self, seconds: float) -> int:
        """Index of the byte at a time of the stream; a whole sample."""
        return max(0, 2 * round(seconds * RATE) - self._dropped)
