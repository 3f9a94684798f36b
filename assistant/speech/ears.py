"""The ears: voice activity detector, vosk, grammar, one utterance at a time. Implements ports.Ears."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.ports import RATE, Ears, Heard
from assistant.speech.audio import read_audio
from assistant.speech.endpoint import WINDOW, Endpointer, EndRule, Silero
from assistant.speech.grammars import grammar
from assistant.speech.model import SpeechModel, open_model
from assistant.speech.understand import understand


class VoskEars:
    """Hears with the model that ships, or with any Vosk model folder."""

    def __init__(self, model: Path | None = None, rule: EndRule | None = None) -> None:
        """Open the model. Raises Refusal (BAD_MODEL)."""
        self._model: SpeechModel = open_model(model)
        self._rule = rule
        self._spare: list[Silero] = []
        self.name = self._model.name
        """For the log: which model heard."""

    def listen(self, ask: str) -> "VoskListener":
        """A fresh listener under the grammar called `ask`. Raises GrammarError for an unknown one."""
        grammar(ask)
        detector = self._spare.pop() if self._spare else Silero()

        def release() -> None:
            detector.reset()
            self._spare.append(detector)

        return VoskListener(self._model.recogniser(ask), ask, Endpointer(self._rule, detector), release)


class VoskListener:
    """One utterance."""

    def __init__(
        self, recogniser: Any, ask: str, endpointer: Endpointer, release: Callable[[], None] = lambda: None
    ) -> None:
        """`release` is called once the endpointer is needed no longer."""
        self._recogniser, self._ask, self._endpointer, self._release = recogniser, ask, endpointer, release
        self._words: list[dict[str, Any]] = []
        self._over = False

    def feed(self, block: bytes) -> Heard | None:
        """As the port asks; recognises while the speaker is still speaking. Nothing after the utterance is heard."""
        if self._over:
            return None
        utterance = self._endpointer.feed(block)
        if utterance and self._recogniser.AcceptWaveform(utterance):
            # A foreign model may end a phrase by itself; what it heard so far is kept.
            self._keep(self._recogniser.Result())
        while self._endpointer.ended and self._endpointer.knock:
            self._recogniser.Reset()
            self._words.clear()
            self._endpointer.wait_again()
            self._recogniser.AcceptWaveform(self._endpointer.feed(b""))
        return self.finish() if self._endpointer.ended else None

    def finish(self) -> Heard | None:
        """As the port asks."""
        if self._over:
            return None
        self._over = True
        self._release()
        if not self._endpointer.speaking or self._endpointer.knock:
            return None
        self._keep(self._recogniser.FinalResult())
        text = " ".join(each["word"] for each in self._words)
        score = min((float(each["conf"]) for each in self._words), default=0.0)
        meaning = understand(text, grammar(self._ask)) if text else None
        return Heard(text, meaning, min(max(score, 0.0), 1.0), self._endpointer.start_s, self._endpointer.end_s)

    def _keep(self, result: str) -> None:
        self._words += json.loads(result).get("result", [])


def hear_file(file: Path, ears: Ears, ask: str) -> list[Heard]:
    """Every utterance of a recording at one ask, in order; [] where nobody speaks.

    Raises Refusal (BAD_AUDIO). There is no search over all asks: each has its own strict grammar, and how well a sound
    fits one of them says nothing against another.
    """
    samples = read_audio(file)
    step = 2 * WINDOW
    heard: list[Heard] = []
    listener, begun_s = ears.listen(ask), 0.0

    def keep(utterance: Heard | None) -> bool:
        if utterance is not None:
            heard.append(replace(utterance, start_s=utterance.start_s + begun_s, end_s=utterance.end_s + begun_s))
        return utterance is not None

    for at in range(0, len(samples), step):
        if keep(listener.feed(samples[at : at + step])):
            listener, begun_s = ears.listen(ask), (at + step) / 2 / RATE
    keep(listener.finish())
    return heard
