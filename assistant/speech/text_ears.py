"""Ears for words instead of sound, so that the whole product can be tried by typing."""

from assistant.ports import Heard
from assistant.speech.grammars import grammar
from assistant.speech.understand import understand


class TextEars:
    """Hears UTF-8 text; a line is an utterance, an empty line is noise. One block counts as one second."""

    name = "text"
    """For the log."""

    def listen(self, ask: str) -> "TextListener":
        """A fresh listener under the grammar called `ask`. Raises GrammarError for an unknown one."""
        grammar(ask)
        return TextListener(ask)


class TextListener:
    """One utterance."""

    def __init__(self, ask: str) -> None:
        self._ask = ask
        self._typed = b""
        self._blocks = 0
        self._over = False

    @property
    def speaking(self) -> bool:
        """A line was begun."""
        return bool(self._typed) and not self._over

    def feed(self, block: bytes) -> Heard | None:
        """Take text; the utterance once its line has ended. What follows in the same block is dropped."""
        if self._over:
            return None
        self._typed += block
        self._blocks += bool(block)
        return self._heard() if b"\n" in self._typed else None

    def finish(self) -> Heard | None:
        """The line typed so far, None where nothing was typed."""
        return self._heard() if self._typed and not self._over else None

    def _heard(self) -> Heard:
        self._over = True
        line = self._typed.split(b"\n", 1)[0].decode("utf-8", errors="replace")
        text = " ".join(line.lower().split())
        return Heard(text, understand(text, grammar(self._ask)), 1.0 if text else 0.0, 0.0, float(self._blocks))
