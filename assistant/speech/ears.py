"""The ears: voice activity detector, vosk, grammar, one utterance at a time. Implements ports.Ears."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.core.meaning import Candidate, Meaning
from assistant.ports import RATE, Ears, Heard
from assistant.shelf import model_folder
from assistant.speech.endpoint import WINDOW, Endpointer, EndRule
from assistant.speech.grammars import grammar
from assistant.speech.hiss import Hiss
from assistant.speech.model import SpeechModel, open_model
from assistant.speech.trust import (
    ALTERNATIVES,
    TOLD,
    UNSAID,
    WEAKEST,
    Traits,
    Trust,
    acoustic_sum,
    read_trust,
    traits,
)
from assistant.speech.understand import candidates
from assistant.speech.utterance import UtteranceListener
from assistant.speech.witness import Witness, witness_of


class VoskEars:
    """Hears with the model that ships, or with any Vosk model folder."""

    def __init__(self, model: Path | None = None, rule: EndRule | None = None, trust: Trust | None = None) -> None:
        """Open the model. Raises Refusal (BAD_MODEL).

        `trust` None = the calibration that ships, where it was fitted to this model; another model has none.
        """
        self._model: SpeechModel = open_model(model)
        self._rule = rule
        self._trust = trust or _fitted_to(model or model_folder())
        self._witness = witness_of(model or model_folder()) if self._trust else None
        self.name = self._model.name
        """For the log: which model heard."""

    def listen(self, ask: str) -> "VoskListener":
        """A fresh listener under the grammar called `ask`. Raises GrammarError for an unknown one."""
        grammar(ask)
        recogniser = self._model.recogniser(ask)
        if self._trust:
            recogniser.SetMaxAlternatives(ALTERNATIVES)
        return VoskListener(recogniser, ask, Endpointer(self._rule), self._trust, self._witness)


def _fitted_to(model: Path) -> Trust | None:
    shipped = read_trust()
    return shipped if shipped.model and shipped.model == acoustic_sum(model) else None


class VoskListener(UtteranceListener):
    """One utterance, recognised while the speaker is still speaking."""

    def __init__(
        self,
        recogniser: Any,
        ask: str,
        endpointer: Endpointer,
        trust: Trust | None = None,
        witness: Witness | None = None,
    ) -> None:
        """`trust` needs a recogniser with alternatives; the `witness` is asked about them."""
        super().__init__(ask, endpointer)
        self._recogniser, self._trust, self._witness = recogniser, trust, witness
        self._sound, self._hiss = b"", Hiss()
        self._alternatives = list[dict[str, Any]]()
        self._words: list[dict[str, Any]] = []
        self._worth_asking = False
        self.traits: Traits = ()
        """What the probability was made of, once something was heard; for whoever fits it."""

    def _recognise(self, sound: bytes) -> None:
        self._sound += sound
        if sound and self._recogniser.AcceptWaveform(self._hiss.laid_under(sound)):
            # A foreign model may end a phrase by itself; what it heard so far is kept.
            self._keep(self._recogniser.Result())

    def _forget(self) -> None:
        self._recogniser.Reset()
        self._words.clear()
        self._sound = b""

    def _so_far(self) -> str:
        partial = json.loads(self._recogniser.PartialResult()).get("partial", "")
        return " ".join([*(each["word"] for each in self._words), *partial.split()])

    def _result(self) -> tuple[str, Meaning | None, float]:
        self._keep(self._recogniser.FinalResult())
        text = " ".join(each["word"] for each in self._words)
        meaning = self._meaning(text)
        if self._witness and (chosen := self._testified(self._witness)) is not None:
            meaning, text = self._meaning(chosen), chosen
        score = self._score() if meaning is not None or self._trust is None else 0.0
        if self._trust and score < self._trust.accept:
            self._worth_asking = score >= self._trust.ask_again
            meaning = None
        return text, meaning, score

    def _testified(self, witness: Witness) -> str | None:
        """The sentence that both networks together find likeliest, put first; None where there is no sentence."""
        sentences = [each for each in self._alternatives if self._meaning(each["text"]) is not None]
        if not sentences:
            return None
        evidence = witness.asked(self._sound)
        for each, likely in zip(sentences, evidence.likely([each["text"] for each in sentences]), strict=True):
            each[TOLD] = likely
        best = max(sentences, key=lambda each: float(each["confidence"]) + each[TOLD])
        best[WEAKEST], best[UNSAID] = evidence.weakest(str(best["text"]))
        self._alternatives = [best, *(each for each in self._alternatives if each is not best)]
        return str(best["text"])

    def _maybe(self) -> tuple[Candidate, ...]:
        """The sentences of the very search the score was made of: the calibration is not touched."""
        texts = (each["text"] for each in self._alternatives) if self._worth_asking else ()
        return candidates(texts, grammar(self._ask))

    def _score(self) -> float:
        if self._trust and self._alternatives:
            self.traits = traits(self._alternatives, len(self._sound) / 2 / RATE, self._meaning)
            return self._trust.probability(self.traits)
        score = min((float(each["conf"]) for each in self._words), default=0.0)
        return min(max(score, 0.0), 1.0)

    def _keep(self, result: str) -> None:
        found = json.loads(result)
        self._alternatives = found.get("alternatives", [])
        best = self._alternatives[0] if self._alternatives else found
        self._words += best.get("result", [])


def hear_file(file: Path, ears: Ears, ask: str) -> list[Heard]:
    """Every utterance of a recording at one ask, in order; [] where nobody speaks.

    Raises Refusal (BAD_AUDIO). There is no search over all asks: each has its own strict grammar, and how well a sound
    fits one of them says nothing against another.
    """
    from assistant.speech.audio import read_audio  # a sitting hears no files

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
