"""Two ears: when the second is asked, what both together find likeliest, and how far that is trusted."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pytest

from assistant.ports import Heard
from assistant.shelf import model_folder
from assistant.speech import ears as one_ear
from assistant.speech import second_ear as whisper
from assistant.speech.ears import VoskEars, VoskListener
from assistant.speech.endpoint import WINDOW, Endpointer, EndRule
from assistant.speech.grammars import ATTENTION, grammar
from assistant.speech.second_ear import second_ear, weights_sum
from assistant.speech.trust import CONTRARY, FARTHEST, TAIL_S, TOLD, Trust, acoustic_sum, read_trust
from assistant.speech.two_ears import (
    FILE,
    LATE_IN_A_ROW,
    LEAST,
    NAMES,
    PATIENCE_S,
    SECOND,
    SPARE_S,
    SURE,
    UNASKED,
    UNSCORED,
    LateError,
    SecondOpinion,
    Timely,
    both_sums,
    fused,
    near,
    to_be_asked,
    traits,
)
from assistant.speech.understand import understand
from tests.speech.test_trust import LOUD, MARGIN, Scripted, hear, sentence
from tests.speech.test_witness import Partial

SURELY, HARDLY = SURE, SURE - 0.01


@pytest.mark.parametrize(
    ("text", "ask", "score", "asked"),
    [
        ("hooked", "pull", SURELY, False),  # believed alone
        ("hooked", "pull", HARDLY, True),
        ("three eighths", "pull", 0.999, True),  # a number must not be wrong
        ("eleven six", "size", 0.999, True),
        ("job number zero one two", "job", 0.999, True),
        ("wall by wall", "size", SURELY, False),  # no number in it
        ("[unk]", "pull", 0.0, True),  # somebody spoke
        ("", "pull", 0.0, False),  # nobody did
        ("[unk]", ATTENTION, 0.0, False),
        ("hello tape measure", ATTENTION, HARDLY, False),
    ],
)
def test_the_second_ear_is_asked_in_doubt_and_at_numbers(text: str, ask: str, score: float, asked: bool) -> None:
    assert to_be_asked(text, understand(text, grammar(ask)), score, ask) == asked


def told(text: str, confidence: float, witness: float | None = None) -> dict[str, Any]:
    return {"text": text, "confidence": confidence, **({} if witness is None else {TOLD: witness})}


def never(texts: Sequence[str]) -> list[float]:
    assert not texts
    return []


def test_all_three_choose_and_the_second_ear_has_the_largest_share() -> None:
    """100 - 3 x 3 = 91, 98 + 1 - 3 x 2 = 93: the second ear's one nat outweighs one of both others."""
    found = fused(
        [told("[unk]", 101.0), told("five eighths", 100.0, 0.0), told("three eighths", 98.0, 1.0)],
        {"five eighths": -3.0, "three eighths": -2.0},
        never,
    )
    assert [(each["text"], each[SECOND]) for each in found] == [("three eighths", -2.0), ("five eighths", -3.0)]


@pytest.mark.parametrize("likely", [{}, {"five eighths": -90.0}])
def test_what_the_second_ear_does_not_score_is_very_unlikely(likely: Mapping[str, float]) -> None:
    (found,) = fused([told("five eighths", 100.0, 0.0)], likely, never)
    assert found[SECOND] == UNSCORED


@pytest.mark.parametrize(("confidences", "its"), [((100.0, 99.0), 97.0), ((100.0, 92.0), 92.0), ((), -FARTHEST)])
def test_a_sentence_of_the_second_ear_alone_is_as_unlikely_for_the_first_as_the_last_that_it_proposed(
    confidences: Sequence[float], its: float
) -> None:
    first = [told(f"{text} eighths", each, 0.0) for text, each in zip(("three", "five"), confidences, strict=False)]
    found = fused(first, {"moved two inches": -1.0}, lambda texts: [-4.0 for _ in texts])
    assert found[0] == {"text": "moved two inches", "confidence": its, TOLD: -4.0, "unheard": 1.0, SECOND: -1.0}


def test_a_sentence_for_which_the_sound_is_too_short_is_left_out() -> None:
    assert fused([], {"moved two inches": -1.0}, lambda texts: [-1e9 for _ in texts]) == []


def test_a_sentence_that_the_first_proposed_is_not_proposed_again() -> None:
    assert len(fused([told("five eighths", 100.0, 0.0)], {"five eighths": -1.0}, never)) == 1


def judge(text: str) -> object:
    return None if text == "[unk]" else text.removesuffix(" inch")


def test_the_second_ears_traits_are_those_of_one_ear_and_its_own() -> None:
    best = {**told("five eighths", 97.0, -2.0), SECOND: -1.5, "unheard": 1.0, "weakest": -0.5, "unsaid": 0.25}
    others = [
        {**told("five eighths inch", 99.0, 3.0), SECOND: -1.0},
        {**told("three eighths", 98.0, 2.0), SECOND: -4.0},
        told("[unk]", 96.0),
    ]
    found = traits([best, *others], 2.0, judge)
    assert {name: found[name] for name in NAMES} == {
        "margin": -1.0, "ahead": 1.0, "brief": 0.5, "backed": -4.0, "tail": TAIL_S, "weakest": -0.5, "unsaid": 0.25,
        "seconded": 2.5, "likely": -1.5, "unheard": 1.0,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("mine", "rival", "seconded", "likely"),
    [(-1.0, None, CONTRARY, -1.0), (-1.0, -45.0, CONTRARY, -1.0), (-45.0, -1.0, -CONTRARY, LEAST)],
)
def test_what_the_second_ear_says_counts_only_so_far(
    mine: float, rival: float | None, seconded: float, likely: float
) -> None:
    others = [] if rival is None else [{**told("three", 99.0, 0.0), SECOND: rival}]
    found = traits([{**told("five", 100.0, 0.0), SECOND: mine}, *others], 2.0, judge)
    assert (found["seconded"], found["likely"], found["unheard"]) == (seconded, likely, 0.0)


@dataclass
class Says:
    """A second ear that says what it was given to say; None = it is late."""

    likely: Mapping[str, float] | None
    name: str = "a script"
    weights_sum: str = "abc"
    asked: list[tuple[int, str, list[str], float]] = field(default_factory=list)
    prepared: list[bytes] = field(default_factory=list)
    sounds: list[bytes] = field(default_factory=list)

    def prepare(self, sound: bytes, patience_s: float) -> None:
        assert patience_s == SPARE_S
        self.prepared.append(sound)

    def hear(self, sound: bytes, ask: str, texts: Sequence[str], patience_s: float) -> Mapping[str, float]:
        self.asked.append((len(sound), ask, [*texts], patience_s))
        self.sounds.append(sound)
        if self.likely is None:
            raise LateError
        return self.likely


CLOSE = (sentence("[unk]", 100.0), sentence("five eighths", 99.0), sentence("three eighths", 98.5))
WITNESS = Partial(five_eighths=0.0, five_eighths_of_an_inch=0.0, three_eighths=0.0, moved_two_inches=-1.0, hooked=0.0)
LIKELY = Trust({**dict.fromkeys(NAMES, 0.0), "likely": 1.0}, 2.0, accept=0.6, ask_again=0.3, model="x")
"""0.73 at -1 nat, 0.5 at -2, 0.12 at -4."""


def both(likely: Mapping[str, float] | None, *alternatives: dict[str, object]) -> tuple[Heard, VoskListener, Says]:
    second = Says(likely)
    heard, listener = hear(*alternatives, witness=WITNESS, second=SecondOpinion(second, LIKELY))
    return heard, listener, second


def test_what_both_choose_is_taken_where_both_are_trusted() -> None:
    heard, listener, second = both({"five eighths": -4.0, "three eighths": -1.0}, *CLOSE)
    assert (heard.text, heard.score) == ("three eighths", pytest.approx(0.731, abs=0.001))
    assert heard.meaning == understand("three eighths", grammar("pull"))
    assert {name: listener.traits[name] for name in ("margin", "ahead", "seconded", "weakest")} == {
        "margin": -0.5, "ahead": -1.5, "seconded": 3.0, "weakest": 0.0,
    }  # fmt: skip
    # Ten windows of speech and 0.2 s after them; here the stream begins with them.
    assert second.asked == [(2 * (10 * WINDOW + 3200), "pull", ["five eighths", "three eighths"], PATIENCE_S)]


def test_a_sentence_that_the_first_did_not_propose_may_win() -> None:
    heard, listener, _ = both({"moved two inches": -0.5}, sentence("[unk]", 100.0))
    assert heard.text == "moved two inches"
    assert heard.meaning is not None
    assert heard.meaning == understand("moved two inches", grammar("pull"))
    assert (listener.traits["unheard"], listener.traits["ahead"]) == (1.0, -FARTHEST)


def test_in_doubt_it_may_be_any_in_the_order_of_all_three() -> None:
    heard, _, _ = both({"five eighths": -9.0, "three eighths": -2.0, "moved two inches": -4.0}, *CLOSE)
    assert (heard.text, heard.meaning, heard.score) == ("three eighths", None, 0.5)
    assert [each.text for each in heard.maybe] == ["three eighths", "moved two inches", "five eighths"]


@pytest.mark.parametrize(("likely", "offered"), [(-10.4, True), (-10.6, False)])
def test_in_doubt_what_lies_far_behind_is_not_offered(likely: float, offered: bool) -> None:
    """98.5 - 3 x 2 for the first, 99 - 3 x 10.4 or 10.6 for the other: 24.7 and 25.3 nats behind."""
    heard, _, _ = both({"five eighths": likely, "three eighths": -2.0}, *CLOSE)
    assert [each.text for each in heard.maybe] == ["three eighths", *(["five eighths"] if offered else [])]


def test_one_ear_offers_all_that_it_found() -> None:
    assert near([]) == []
    assert near(CLOSE) == [*CLOSE]


@pytest.mark.parametrize("likely", [{"moved two inches": -4.0}, {}, None])
def test_other_speech_stays_other_speech_where_both_hardly_find_a_sentence(likely: Mapping[str, float] | None) -> None:
    heard, _, second = both(likely, sentence("[unk]", 100.0))
    assert (heard.text, heard.meaning, heard.score, heard.maybe) == ("[unk]", None, 0.0, ())
    assert len(second.asked) == 1


def test_a_sentence_that_both_hardly_believe_keeps_its_words_for_the_log() -> None:
    heard, _, _ = both({"five eighths": -4.0}, *CLOSE)
    assert (heard.text, heard.meaning, heard.maybe) == ("five eighths", None, ())
    assert heard.score == pytest.approx(0.119, abs=0.001)


@pytest.mark.parametrize(("behind", "taken"), [(1.4, False), (1.6, True)])
def test_where_it_is_late_the_first_ears_calibration_stands(behind: float, taken: bool) -> None:
    close = sentence("five eighths", 99.0), sentence("three eighths", 99.0 - behind)
    heard, _, second = both(None, *close)
    assert (heard.text, heard.meaning is not None) == ("five eighths", taken)
    alone, _ = hear(*close, witness=WITNESS)
    assert heard == alone
    assert second.asked


def test_late_twice_in_a_row_it_is_left_unasked_for_a_while() -> None:
    """On a slow machine every number would be waited for, a second each, in vain."""
    inner = Says(None)
    ear = Timely(inner)

    def late() -> bool:
        ear.prepare(b"", SPARE_S)
        try:
            return ear.hear(b"", "pull", [], PATIENCE_S) != {}
        except LateError:
            return True

    def calls() -> tuple[int, int]:
        return len(inner.prepared), len(inner.asked)

    assert (ear.name, ear.weights_sum) == (inner.name, inner.weights_sum)
    assert late()
    inner.likely = {}
    assert not late(), "one late answer may be chance"
    inner.likely = None
    assert [late() for _ in range(LATE_IN_A_ROW + UNASKED)] == [True] * (LATE_IN_A_ROW + UNASKED)
    assert calls() == (2 + LATE_IN_A_ROW, 2 + LATE_IN_A_ROW), "neither prepared nor asked"
    assert [late() for _ in range(1 + UNASKED)] == [True] * (1 + UNASKED)
    assert calls() == (3 + LATE_IN_A_ROW, 3 + LATE_IN_A_ROW), "asked once, and late again"
    inner.likely = {}
    assert [late() for _ in range(3)] == [False] * 3
    inner.likely = None
    assert late()
    inner.likely = {}
    assert not late(), "forgotten once it answered in time"


def test_sure_alone_it_is_not_asked() -> None:
    _, listener, second = both({}, sentence("hooked", 100.0), sentence("three eighths", 90.0))
    assert not second.asked
    assert not {*listener.traits} >= {*NAMES}


@pytest.mark.parametrize(("ours", "stands"), [(-2.9, True), (-3.1, False)])
def test_a_number_stands_unless_the_second_ear_contradicts(ours: float, stands: bool) -> None:
    """Another meaning at -1 nat: 1.9 and 2.1 ahead. 'Five eighths of an inch' is the same meaning."""
    surely = sentence("five eighths", 100.0), sentence("three eighths", 90.0)
    likely = {"three eighths": -1.0, "five eighths": -30.0, "five eighths of an inch": ours}
    heard, listener, _ = both(likely, *surely)
    alone, first = hear(*surely, witness=WITNESS)
    assert (heard == alone) == stands
    assert (listener.traits == first.traits) == stands
    assert heard.text == ("five eighths" if stands else "three eighths")


@pytest.mark.parametrize(("at_once", "taken"), [(0.73, True), (0.74, False)])
def test_where_no_yes_follows_both_must_be_surer(at_once: float, taken: bool) -> None:
    second = Says({"five eighths": -4.0, "three eighths": -1.0})
    opinion = SecondOpinion(second, replace(LIKELY, accept_at_once=at_once))
    heard, _ = hear(*CLOSE, witness=WITNESS, second=opinion)
    assert (heard.text, heard.meaning is not None, bool(heard.maybe)) == ("three eighths", taken, not taken)


def test_a_knock_is_not_prepared() -> None:
    second, likely = Says({}), iter([0.9] * 3 + [0.0] * 12 + [0.9] * 10)
    ends = Endpointer(detector=lambda samples: next(likely, 0.0))
    listener = VoskListener(Scripted(*CLOSE), "pull", ends, MARGIN, WITNESS, SecondOpinion(second, LIKELY))
    assert listener.feed(LOUD * 25) is None
    assert second.prepared == []
    assert listener.feed(LOUD * 9) is not None
    assert len(second.prepared) == 1


@pytest.mark.parametrize(("ask", "times"), [("pull", 1), (ATTENTION, 0)])
def test_the_second_ear_prepares_in_the_silence_what_it_may_be_asked_about(ask: str, times: int) -> None:
    """Three windows of silence are none yet; seven are, and the speech goes on; then it ends. What was said before the
    pause is prepared, then all, each once.
    """
    second, likely = Says({}), iter([0.9] * 10 + [0.0] * 8 + [0.9] * 10)
    ends = Endpointer(EndRule(silence_s=0.3), detector=lambda samples: next(likely, 0.0))
    listener = VoskListener(Scripted(*CLOSE), ask, ends, MARGIN, WITNESS, SecondOpinion(second, LIKELY))
    loud = [bytes([each, 0]) * WINDOW for each in range(60)]
    assert all(listener.feed(each) is None for each in loud[:16])
    assert second.prepared == []
    assert all(listener.feed(each) is None for each in loud[16:28])
    sound = b"".join(loud)
    assert second.prepared == [sound[: 2 * (10 * WINDOW + 3200)]] * times
    while listener.feed(loud[28]) is None:
        pass
    assert second.sounds == second.prepared[1:]
    assert len(second.sounds) == times


def test_speech_that_goes_on_to_the_end_of_the_stream_is_handed_over_whole() -> None:
    second = Says({})
    ends = Endpointer(detector=lambda samples: 0.9)
    listener = VoskListener(Scripted(*CLOSE), "pull", ends, MARGIN, WITNESS, SecondOpinion(second, LIKELY))
    assert listener.feed(LOUD * 30) is None
    assert listener.finish() is not None
    assert second.asked[0][0] == len(LOUD * 30)


OF_BOTH = both_sums(model_folder(), "abc")


def calibrated(model: str) -> Trust:
    return Trust(dict.fromkeys(NAMES, 0.0), 0.0, 0.6, 0.3, model)


@pytest.mark.parametrize(
    ("fitted_to", "two"), [(OF_BOTH, True), (f"{acoustic_sum(model_folder())} other", False), ("other abc", False)]
)
def test_a_second_ear_is_asked_only_where_the_calibration_knows_it_and_the_model(
    fitted_to: str, two: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    shipped = read_trust()
    monkeypatch.setattr(
        one_ear, "read_trust", lambda file=None, names=(): calibrated(fitted_to) if file == FILE else shipped
    )
    alone, ears = VoskEars(), VoskEars(second=lambda: Says({}))
    assert ears.two == two
    assert ears.name == alone.name + (" with a script" if two else "")
    assert not alone.two


@pytest.mark.parametrize(("likely", "late"), [(None, True), ({}, False)])
def test_ears_tell_a_second_that_is_too_slow_and_leave_it_unasked(likely: dict[str, float] | None, late: bool) -> None:
    second = Says(likely)
    ears = VoskEars(second=lambda: second, trust_in_both=calibrated(""))
    assert [ears.second_is_late, ears.second_is_late] == [late, late]
    assert second.asked == [(3 * 2 * 16_000, "pull", [], PATIENCE_S)] * 2
    assert not VoskEars().second_is_late


def test_whoever_fits_brings_a_calibration() -> None:
    assert VoskEars(second=lambda: Says({}, weights_sum="new"), trust_in_both=calibrated("")).two


def test_the_calibration_that_ships_was_fitted_to_the_networks_that_ship() -> None:
    """After new weights, ours or the second ear's: python -m assistant.hearing fit --second-ear DEVSET/manifest.tsv"""
    trust = read_trust(FILE, NAMES)
    assert trust.model == both_sums(model_folder(), weights_sum())
    assert 0 < trust.ask_again < trust.accept < trust.accept_at_once < 1
    assert (*trust.weights,) == NAMES


@pytest.mark.parametrize("installed", [True, False])
def test_there_is_one_ear_where_a_second_is_not_wanted_or_not_there(
    installed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(whisper, "weights_folder", lambda: "there" if installed else None)
    monkeypatch.setattr(whisper, "SecondEar", lambda: Says({}))
    assert second_ear(wanted=False) is None
    assert (second_ear() is not None) == installed
