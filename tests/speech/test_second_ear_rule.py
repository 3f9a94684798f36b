"""Two ears: when the second is asked, and what comes of it."""

from dataclasses import dataclass, field, replace

import pytest

from assistant.core.meaning import Candidate, Meaning
from assistant.ports import Heard
from assistant.speech import second_ear_rule
from assistant.speech.grammars import grammar
from assistant.speech.second_ear import LateError, Opinion
from assistant.speech.second_ear_rule import LIKELY, SURE, TwoEars, judge, with_second_ear
from assistant.speech.text_ears import TextEars
from assistant.speech.understand import understand

SOUND = bytes(3200)


def heard(text: str, ask: str, score: float, *, taken: bool = True) -> Heard:
    return Heard(text, understand(text, grammar(ask)) if taken else None, score, 0.0, 1.0, SOUND)


@dataclass
class Says:
    """A second ear that says what it was given to say; None = it is late."""

    text: str | None
    score: float = -1.0
    name: str = "a script"
    asked: list[tuple[bytes, str, float]] = field(default_factory=list)

    def hear(self, sound: bytes, ask: str, patience_s: float) -> Opinion:
        self.asked.append((sound, ask, patience_s))
        if self.text is None:
            raise LateError
        return Opinion(self.text, self.score)

    def __call__(self) -> Opinion:
        return self.hear(SOUND, "", 1.0)


SURELY, HARDLY = SURE, SURE - 0.01


@pytest.mark.parametrize(
    ("first", "ask", "score", "second", "asked", "taken"),
    [
        ("three eighths", "pull", SURELY, "five eighths", False, True),  # believed alone
        ("three eighths", "pull", HARDLY, "three eighths", True, True),
        ("three eighths", "pull", HARDLY, "three eighths inch", True, True),  # other words, the same meaning
        ("three eighths", "pull", HARDLY, "five eighths", True, False),
        ("three eighths", "pull", HARDLY, "", True, False),  # the second makes nothing of it
        ("three eighths", "pull", HARDLY, None, True, True),  # late: the first one's rule
        ("eleven six", "size", 0.999, "eleven six", True, True),  # a value that must not be wrong
        ("eleven six", "size", 0.999, "seven six", True, False),
        ("at least one percent", "figure", 0.999, "at least nine percent", True, False),
        ("wall by wall", "size", SURELY, "help", False, True),  # no figure in it
    ],
)
def test_agreement_is_taken_and_disagreement_asked_again(
    first: str, ask: str, score: float, second: str | None, asked: bool, taken: bool
) -> None:
    judged = judge(heard(first, ask, score), ask, Says(second))
    assert (judged.asked, judged.heard.meaning is not None, judged.late) == (asked, taken, second is None)
    assert judged.heard.text == first


@pytest.mark.parametrize(("second", "taken"), [("three eighths", True), ("five eighths", False), (None, False)])
def test_what_the_first_did_not_dare_to_take_the_second_may_confirm(second: str | None, taken: bool) -> None:
    judged = judge(heard("three eighths", "pull", 0.3, taken=False), "pull", Says(second))
    assert judged.asked
    assert (judged.heard.meaning == understand("three eighths", grammar("pull"))) == taken


@pytest.mark.parametrize(
    ("taken", "second", "offered"),
    [(True, "fifteen millimetres", True), (True, "fifty millimetres", False), (False, "fifteen millimetres", False),
     (False, "fifty millimetres", False), (False, None, True)],
)  # fmt: skip
def test_what_the_first_would_offer_is_not_offered_once_the_second_has_spoken(
    taken: bool, second: str | None, offered: bool
) -> None:
    """Two that disagree mean 'ask again', and not 'was it fifty?'; a twin of what both heard is still asked about."""
    twin = Candidate("fifty millimetres", Meaning("reading"))
    first = replace(heard("fifteen millimetres", "pull", 0.6, taken=taken), maybe=(twin,))
    assert judge(first, "pull", Says(second)).heard.maybe == ((twin,) if offered else ())


@pytest.mark.parametrize("text", ["", "[unk]", "three [unk]"])
def test_one_ear_alone_is_never_enough(text: str) -> None:
    """What the first heard as no sentence stays none, whatever the second would make of it."""
    second = Says("hooked")
    assert judge(heard(text, "pull", 0.0), "pull", second).heard.meaning is None
    assert not second.asked


@pytest.mark.parametrize(("score", "taken"), [(LIKELY, True), (LIKELY - 0.1, False)])
def test_a_sentence_the_second_finds_unlikely_is_not_confirmed(score: float, taken: bool) -> None:
    judged = judge(heard("three eighths", "pull", HARDLY), "pull", Says("three eighths", score))
    assert (judged.heard.meaning is not None) == taken


class Sure(TextEars):
    """Typed words are always sure; here they are not."""

    def listen(self, ask: str):  # type: ignore[no-untyped-def]
        listener = super().listen(ask)
        whole = listener._heard
        listener._heard = lambda: second_ear_rule.replace(whole(), score=HARDLY)  # type: ignore[method-assign]
        return listener


def test_two_ears_hand_the_sound_to_the_second_and_nobody_else() -> None:
    second = Says("five eighths")
    ears = TwoEars(Sure(), second, patience_s=0.7)
    assert ears.name == "text with a script"
    listener = ears.listen("pull")
    found = listener.feed(b"three eighths\n")
    assert found is not None
    assert (found.text, found.meaning, found.sound) == ("three eighths", None, b"")
    assert second.asked == [(b"three eighths\n", "pull", 0.7)]
    assert listener.judged is not None
    assert listener.judged.asked
    assert listener.finish() is None


@pytest.mark.parametrize("installed", [True, False])
def test_there_is_one_ear_where_a_second_is_not_wanted_or_not_there(
    installed: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(second_ear_rule, "weights_folder", lambda: "there" if installed else None)
    monkeypatch.setattr(second_ear_rule, "SecondEar", lambda: Says("yes"))
    first = TextEars()
    assert with_second_ear(first, wanted=False) is first
    assert (with_second_ear(first) is first) == (not installed)
