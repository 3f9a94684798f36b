"""The probability that what was heard is right."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.ports import Heard
from assistant.shelf import model_folder
from assistant.speech.ears import VoskEars, VoskListener
from assistant.speech.endpoint import WINDOW, Endpointer
from assistant.speech.grammars import grammar
from assistant.speech.trust import ALTERNATIVES, FARTHEST, NAMES, TAIL_S, Trust, acoustic_sum, read_trust, traits
from assistant.speech.two_ears import SecondOpinion
from assistant.speech.understand import understand
from assistant.speech.witness import Witness

LOUD = np.full(WINDOW, 2000, "<i2").tobytes()
MARGIN = Trust({**dict.fromkeys(NAMES, 0.0), "margin": 2.0}, -2.0, accept=0.75, ask_again=0.3, model="x")


def sentence(text: str, confidence: float) -> dict[str, object]:
    words = [{"word": word, "start": at * 0.5, "end": at * 0.5 + 0.4} for at, word in enumerate(text.split())]
    return {"text": text, "confidence": confidence, "result": words}


class Scripted:
    """A recogniser with these alternatives."""

    def __init__(self, *alternatives: dict[str, object]) -> None:
        self.result = json.dumps({"alternatives": alternatives})

    def AcceptWaveform(self, block: bytes) -> bool:  # noqa: N802 - vosk's name
        return False

    def FinalResult(self) -> str:  # noqa: N802 - vosk's name
        return self.result

    def PartialResult(self) -> str:  # noqa: N802 - vosk's name
        return "{}"

    def Reset(self) -> None:  # noqa: N802 - vosk's name
        pass


def hear(
    *alternatives: dict[str, object],
    trust: Trust = MARGIN,
    witness: Witness | None = None,
    second: SecondOpinion | None = None,
) -> tuple[Heard, VoskListener]:
    left = iter([0.9] * 10)
    ends = Endpointer(detector=lambda samples: next(left, 0.0))
    listener = VoskListener(Scripted(*alternatives), "pull", ends, trust, witness, second)
    heard = listener.feed(LOUD * 30)
    assert heard is not None
    return heard, listener


@pytest.mark.parametrize(
    ("text", "ask", "least"),
    [
        ("eleven six", "size", 0.75),
        ("scratch that", "size", 0.8),  # at once, though sizes need a yes
        ("no figure", "figure", 0.8),
        ("eleven feet six inches turn left", "wall", 0.8),  # the ring of walls is confirmed by its closing alone
        ("three eighths", "pull", 0.8),
        ("none of them", "pull", 0.8),  # means nothing
    ],
)
def test_what_no_yes_follows_must_be_likelier(text: str, ask: str, least: float) -> None:
    trust, meaning = replace(MARGIN, accept_at_once=0.8), understand(text, grammar(ask))
    assert trust.accepts(least, meaning, ask)
    assert not trust.accepts(least - 0.001, meaning, ask)
    assert MARGIN.accepts(0.75, meaning, ask)


def test_the_margin_is_to_the_next_other_meaning() -> None:
    told = {"three inch": 1, "three inches": 1, "ten inches": 2, "[unk]": None}
    best = [sentence("three inch", 100.0), sentence("three inches", 99.5), sentence("ten inches", 98.0)]
    found = traits(best, 2.0, told.__getitem__)
    assert (*found,) == NAMES
    assert (found["margin"], found["ahead"], found["brief"]) == (2.0, FARTHEST, 0.5)
    assert (found["backed"], found["weakest"], found["unsaid"]) == (0.0, 0.0, 0.0), "no witness was asked"
    assert found["pace"] == pytest.approx(0.8 / len("threeinch"))
    assert found["tail"] == pytest.approx(2.0 - 0.9)
    assert traits(best[:2], 2.0, told.__getitem__)["margin"] == FARTHEST
    found = traits([best[0], sentence("[unk]", 99.0)], 2.0, told.__getitem__)
    assert (found["margin"], found["ahead"]) == (FARTHEST, 1.0)


def said(word: str, frames: int) -> list[dict[str, object]]:
    """One word over so many of the network's frames, in the middle of a recording."""
    result = {"word": word, "start": 1.17, "end": 1.17 + 0.03 * frames}
    return [{"text": word, "confidence": 1.0, "result": [result]}]


def test_what_is_left_after_the_last_word_is_told() -> None:
    """A word from 1.17 s on for ten frames of 30 ms ends at 1.47 s; without times it is as long as it mostly is."""

    def tail(alternatives: list[dict[str, object]], seconds: float) -> float:
        return traits(alternatives, seconds, lambda text: text)["tail"]

    assert tail(said("metre", 10), 1.8) == pytest.approx(0.33)
    assert tail(said("metre", 10), 2.7) == pytest.approx(1.23)
    assert tail([{"text": "metre", "confidence": 1.0}], 2.0) == TAIL_S


def test_the_farthest_margin_is_the_recognisers_own() -> None:
    settings = (model_folder() / "conf" / "model.conf").read_text(encoding="utf-8")
    assert f"--lattice-beam={FARTHEST}\n" in settings


def test_far_ahead_is_taken() -> None:
    heard, listener = hear(sentence("three eighths", 100.0), sentence("five eighths", 97.5))
    assert heard.meaning is not None
    assert heard.score == pytest.approx(1 / (1 + np.exp(-3.0)))
    assert listener.traits["margin"] == 2.5


@pytest.mark.parametrize("behind", [0.1, 1.4])
def test_what_is_too_close_is_asked_again_with_its_words_in_the_log(behind: float) -> None:
    heard, _ = hear(sentence("three eighths", 100.0), sentence("five eighths", 100.0 - behind))
    assert (heard.text, heard.meaning) == ("three eighths", None)
    assert heard.score == pytest.approx(1 / (1 + np.exp(2.0 - 2 * behind)))


@pytest.mark.parametrize(
    ("behind", "maybe"),
    [
        (0.1, []),  # 0.14: nothing is known
        (0.7, ["three eighths", "five eighths", "hooked"]),  # 0.35
        (1.4, ["three eighths", "five eighths", "hooked"]),  # 0.69
        (1.6, []),  # 0.77: it is known
    ],
)
def test_between_the_thresholds_it_may_have_been_any_of_the_best(behind: float, maybe: list[str]) -> None:
    others = ("three eighths inch", 99.9), ("five eighths", 100 - behind), ("[unk]", 98.0), ("hooked", 96.0)
    heard, _ = hear(sentence("three eighths", 100.0), *(sentence(*each) for each in others))
    assert [each.text for each in heard.maybe] == maybe
    assert (heard.meaning is None) == (behind < 1.5)


def test_what_sounds_like_another_comes_with_it() -> None:
    heard, _ = hear(sentence("fifteen millimetres", 100.0), sentence("hooked", 90.0))
    assert heard.meaning is not None
    assert [each.text for each in heard.maybe] == ["fifty millimetres"]


@pytest.mark.parametrize("text", ["[unk]", ""])
def test_what_has_no_meaning_has_no_probability(text: str) -> None:
    heard, listener = hear(sentence(text, 100.0))
    assert (heard.text, heard.meaning, heard.score, listener.traits) == (text, None, 0.0, {})


def test_a_probability_stays_one() -> None:
    none = dict.fromkeys(NAMES, 0.0)
    assert MARGIN.probability({**none, "margin": 1e9}) <= 1.0
    assert MARGIN.probability({**none, "margin": -1e9}) >= 0.0
    with pytest.raises(KeyError, match="ahead"):
        MARGIN.probability({"margin": 1.0})


def test_the_calibration_that_ships_was_fitted_to_the_model_that_ships() -> None:
    """After a new acoustic model: python -m assistant.hearing fit DEVSET/manifest.tsv"""
    trust = read_trust()
    assert trust.model == acoustic_sum(model_folder()) != ""
    assert 0 < trust.ask_again < trust.accept == trust.accept_at_once < 1
    assert {*trust.weights} == {*NAMES}


def test_another_model_goes_unjudged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert acoustic_sum(tmp_path) == ""
    asked: list[int] = []

    class Recogniser(Scripted):
        def SetMaxAlternatives(self, count: int) -> None:  # noqa: N802 - vosk's name
            asked.append(count)

    class Model:
        name = "any"

        def recogniser(self, ask: str) -> Recogniser:
            return Recogniser()

    monkeypatch.setattr("assistant.speech.ears.open_model", lambda folder: Model())
    VoskEars(tmp_path, second=lambda: pytest.fail("opened for nothing")).listen("pull")
    assert asked == []
    VoskEars(None).listen("pull")
    assert asked == [ALTERNATIVES]
