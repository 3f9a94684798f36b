"""The ears: voice activity detector, vosk, grammar, one utterance at a time. Implements ports.Ears."""

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any

from assistant.core.meaning import Candidate, Meaning
from assistant.keeping import AFTER_S
from assistant.ports import RATE, Ears, Heard, Listener
from assistant.shelf import model_folder
from assistant.speech import two_ears
from assistant.speech.endpoint import WINDOW, Endpointer, EndRule, More
from assistant.speech.foreground import LOOK_EVERY, OVER_S, Nearest, all_of_it, close_by, quiet_s, speaks_up
from assistant.speech.grammars import ATTENTION, grammar
from assistant.speech.hiss import Hiss
from assistant.speech.model import UNKNOWN, SpeechModel, open_model
from assistant.speech.trust import (
    ALTERNATIVES,
    SAID,
    TOLD,
    UNSAID,
    WEAKEST,
    Traits,
    Trust,
    acoustic_sum,
    read_trust,
    traits,
)
from assistant.speech.two_ears import (
    FILE,
    PATIENCE_S,
    SPARE_S,
    LateError,
    Second,
    SecondOpinion,
    Timely,
    both_sums,
    fused,
    is_late,
    near,
    stands,
    to_be_asked,
)
from assistant.speech.understand import candidates
from assistant.speech.utterance import UtteranceListener
from assistant.speech.witness import Evidence, Witness, witness_of
from assistant.wariness import sure


class VoskEars:
    """Hears with the model that ships, or with any Vosk model folder."""

    def __init__(
        self,
        model: Path | None = None,
        rule: EndRule | None = None,
        trust: Trust | None = None,
        second: Callable[[], Second | None] = lambda: None,
        trust_in_both: Trust | None = None,
    ) -> None:
        """Open the model. Raises Refusal (BAD_MODEL), as `second` may.

        `trust` None = the calibration that ships, where it was fitted to this model; another model has none. So, too,
        `trust_in_both`, where it was fitted to this model and to the ear that `second` opens; without one that is not
        asked. Beside a model without a witness it is not opened.
        """
        folder = model or model_folder()
        self._model: SpeechModel = open_model(model)
        self._rule = rule
        self._trust = trust or _fitted(read_trust(), acoustic_sum(folder))
        self._witness = witness_of(folder) if self._trust else None
        self._second: SecondOpinion | None = None
        if self._witness and (ear := second()):
            in_both = trust_in_both or _fitted(read_trust(FILE, two_ears.NAMES), both_sums(folder, ear.weights_sum))
            self._second = SecondOpinion(Timely(ear), in_both) if in_both else None
        self.name = self._model.name + (f" with {self._second.ear.name}" if self._second else "")
        """For the log: which model heard."""

    @property
    def two(self) -> bool:
        """Is there a second ear that is asked?"""
        return self._second is not None

    @property
    def second_is_late(self) -> bool:
        """Is there a second ear, and is it too slow for this machine? Takes a part of a second, or two."""
        return self._second is not None and is_late(self._second.ear)

    def listen(self, ask: str) -> "VoskListener":
        """A fresh listener under the grammar called `ask`. Raises GrammarError for an unknown one."""
        grammar(ask)
        return self._listener(ask, Endpointer(self._rule), lambda: self._listener(ask, all_of_it()))

    def _listener(self, ask: str, endpointer: Endpointer, anew: Callable[[], Listener] | None = None) -> "VoskListener":
        recogniser = self._model.recogniser(ask)
        if self._trust:
            recogniser.SetMaxAlternatives(ALTERNATIVES)
        return VoskListener(recogniser, ask, endpointer, self._trust, self._witness, self._second, anew)


def _fitted(trust: Trust, networks: str) -> Trust | None:
    return trust if trust.model and trust.model == networks else None


class VoskListener(UtteranceListener):
    """One utterance, recognised while the speaker is still speaking."""

    def __init__(
        self,
        recogniser: Any,
        ask: str,
        endpointer: Endpointer,
        trust: Trust | None = None,
        witness: Witness | None = None,
        second: SecondOpinion | None = None,
        anew: Callable[[], Listener] | None = None,
    ) -> None:
        """`trust` needs a recogniser with alternatives; the `witness` is asked about them, and needed by a `second`.

        `anew`: a listener to all of a sound, for the part of an utterance that somebody close by spoke.
        """
        super().__init__(ask, endpointer)
        self._recogniser, self._trust, self._witness, self._second = recogniser, trust, witness, second
        self._nearest = Nearest(ask, anew) if anew and trust and ask != ATTENTION else None
        self._offered: tuple[Candidate, ...] = ()
        self._enough = False
        self._sound, self._hiss = b"", Hiss()
        self._alternatives = list[dict[str, Any]]()
        self._words: list[dict[str, Any]] = []
        self._worth_asking = False
        self._prepared_s = 0.0
        self.traits: Traits = {}
        """What the probability was made of, once something was heard; for whoever fits it."""

    def _recognise(self, sound: bytes) -> None:
        self._sound += sound
        if sound and self._recogniser.AcceptWaveform(self._hiss.laid_under(sound)):
            # A foreign model may end a phrase by itself; what it heard so far is kept.
            self._keep(self._recogniser.Result())
        ends = self._endpointer
        silent = self._prepared_s < ends.end_s and ends.quiet_s >= AFTER_S and not ends.knock
        if self._second and silent and self._ask != ATTENTION:
            # It is not sure yet that the speech has ended.
            self._second.ear.prepare(self._around_speech(), SPARE_S)
            self._prepared_s = ends.end_s

    def _forget(self) -> None:
        self._recogniser.Reset()
        self._words.clear()
        self._sound = b""

    def _so_far(self) -> str:
        partial = json.loads(self._recogniser.PartialResult()).get("partial", "")
        return " ".join([*(each["word"] for each in self._words), *partial.split()])

    def _more(self) -> More:
        more = super()._more()
        # Asked while somebody speaks, it is about the longest that an utterance may last.
        cut = self._nearest and self._endpointer.voiced[-1] and more in (More.NO, More.UNKNOWN)
        return More.MAYBE if cut and speaks_up(self._sound) else more

    def _heard_enough(self) -> bool:
        voiced = self._endpointer.voiced
        if not self._nearest or not voiced or len(voiced) % LOOK_EVERY or UNKNOWN not in self._so_far():
            return False
        stretch = close_by(self._sound, voiced)
        if stretch is None or quiet_s(stretch, voiced) < OVER_S:
            return False
        heard = self._nearest.hear(self._sound, stretch)
        if heard and heard.score >= sure(1):
            self._enough = quiet_s(stretch, voiced) >= self._endpointer.wait_s(self._more_than(heard.text))
        return self._enough

    def _result(self) -> tuple[str, Meaning | None, float]:
        text, meaning, score = self._of_all()
        voiced = self._endpointer.voiced
        if self._nearest and meaning is None and (self._enough or not self._worth_asking):
            stretch = close_by(self._sound, voiced)
            cut = stretch and voiced[-1] and quiet_s(stretch, voiced) < OVER_S
            if stretch and not cut and (heard := self._nearest.hear(self._sound, stretch)):
                self._offered = heard.maybe
                return heard.text, heard.meaning, heard.score
        return text, meaning, score

    def _of_all(self) -> tuple[str, Meaning | None, float]:
        self._keep(self._recogniser.FinalResult())
        text, trust = " ".join(each["word"] for each in self._words), self._trust
        if self._witness:
            text = self._testified() or text
        meaning = self._meaning(text)
        score = self._score() if meaning is not None or trust is None else 0.0
        if (
            self._second and to_be_asked(text, meaning, score, self._ask)
            and (best := self._seconded(self._second, meaning, score))
        ):  # fmt: skip
            in_both, trust = self._second.trust.probability(self.traits), self._second.trust
            if meaning is not None or in_both >= trust.ask_again:  # else what is no sentence stays none
                text, meaning, score = best, self._meaning(best), in_both
        if trust and not trust.accepts(score, meaning, self._ask):
            self._worth_asking = score >= trust.ask_again
            meaning = None
        return text, meaning, score

    @cached_property
    def _evidence(self) -> Evidence:
        assert self._witness is not None
        return self._witness.asked(self._sound)

    def _testified(self) -> str | None:
        """The sentence that both networks together find likeliest, put first; None where there is no sentence."""
        sentences = [each for each in self._alternatives if self._meaning(each["text"]) is not None]
        if not sentences:
            return None
        likely = self._evidence.likely([each["text"] for each in sentences])
        for each, told in zip(sentences, likely, strict=True):
            each[TOLD] = told
        best = max(sentences, key=lambda each: float(each[SAID]) + each[TOLD])
        return self._chosen([best, *(each for each in sentences if each is not best)])

    def _seconded(self, second: SecondOpinion, meaning: Meaning | None, score: float) -> str | None:
        """As _testified, with the second ear; None where it is late, too, or where what the first found stands."""
        texts = [each["text"] for each in self._alternatives if TOLD in each]
        try:
            likely = second.ear.hear(self._around_speech(), self._ask, texts, PATIENCE_S)
        except LateError:
            return None
        if stands(score, meaning, likely, self._meaning):
            return None
        sentences = fused(self._alternatives, likely, self._evidence.likely)
        if not sentences:
            return None
        best = self._chosen(sentences)
        self.traits = two_ears.traits(self._alternatives, self._seconds, self._meaning)
        return best

    def _around_speech(self) -> bytes:
        """As KeepingEars keep it: to AFTER_S behind the speech. It begins with the end-pointer's pre-roll, which is
        whole windows: 0.288 s before the speech, not 0.3.
        """
        over_s = self._endpointer.quiet_s - AFTER_S
        return self._sound[: len(self._sound) - 2 * round(over_s * RATE)]

    def _chosen(self, sentences: list[dict[str, Any]]) -> str:
        """The first of the sentences, with its parts judged; they stand before what is none from now on."""
        best, others = sentences[0], [each for each in self._alternatives if TOLD not in each]
        best[WEAKEST], best[UNSAID] = self._evidence.weakest(str(best["text"]))
        self._alternatives = [*sentences, *others]
        return str(best["text"])

    def _maybe(self) -> tuple[Candidate, ...]:
        """The sentences of the very search the score was made of: the calibration is not touched."""
        if self._offered:
            return self._offered
        texts = (each["text"] for each in near(self._alternatives)) if self._worth_asking else ()
        return candidates(texts, grammar(self._ask))

    @property
    def _seconds(self) -> float:
        return len(self._sound) / 2 / RATE

    def _score(self) -> float:
        if self._trust and self._alternatives:
            self.traits = traits(self._alternatives, self._seconds, self._meaning)
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
