"""What is only just likely enough is not taken while others talk."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from assistant.core.meaning import Candidate, Meaning
from assistant.hearer import Hearer
from assistant.ports import RATE, Heard
from assistant.wariness import WARY_S, Wariness, sure

SURE = 0.9
"""After one other: 3 right for 2 wrong, 3 to 1 fitted, 2 to 1 by the rule of succession; 3/2 * 3 * 2 = 9 to 1."""
OTHER = Heard("[unk]", None, 0.0, 0.0, 1.0)
HOOKED = Heard("hooked", Meaning("hooked"), SURE - 0.01, 0.0, 1.0)
ASKED_ABOUT = replace(HOOKED, meaning=None, maybe=(Candidate("hooked", Meaning("hooked")),))


@pytest.mark.parametrize(
    ("before", "passed_s", "heard", "judged"),
    [
        (None, 0.0, HOOKED, HOOKED),
        (OTHER, 0.0, HOOKED, ASKED_ABOUT),
        (OTHER, WARY_S - 0.1, HOOKED, ASKED_ABOUT),
        (OTHER, WARY_S, HOOKED, HOOKED),
        (OTHER, 0.0, replace(HOOKED, score=SURE), replace(HOOKED, score=SURE)),
        (replace(OTHER, text=""), 0.0, HOOKED, HOOKED),  # a knock
        (ASKED_ABOUT, 0.0, HOOKED, HOOKED),  # said again by whoever said it unclearly
    ],
)
def test_who_talks_beside_it_makes_it_wary(before: Heard | None, passed_s: float, heard: Heard, judged: Heard) -> None:
    wariness = Wariness()
    if before is not None:
        assert wariness.judge(before) == before
    wariness.passes(passed_s)
    assert wariness.judge(heard) == judged


@pytest.mark.parametrize(("others", "odds"), [(1, 9), (2, 13.5), (3, 18), (4, 18), (50, 18)])
def test_the_more_others_were_heard_the_surer_it_must_be(others: int, odds: float) -> None:
    """By hand, from `SURE`'s: 4.5 for each, and once more."""
    assert sure(others) == pytest.approx(odds / (odds + 1))
    for score, taken in ((sure(others), True), (sure(others) - 0.001, False)):
        wariness = Wariness()
        for _ in range(others):
            wariness.judge(OTHER)
            wariness.passes(WARY_S - 0.1)
        assert bool(wariness.judge(replace(HOOKED, score=score)).meaning) is taken


def test_others_are_counted_anew_when_they_have_been_quiet_for_long() -> None:
    wariness, hooked = Wariness(), replace(HOOKED, score=SURE)
    for _ in range(3):
        wariness.judge(OTHER)
    assert wariness.judge(hooked).meaning is None
    wariness.passes(WARY_S)
    wariness.judge(OTHER)
    assert wariness.judge(hooked).meaning


def test_what_sounds_alike_is_asked_about_behind_it() -> None:
    thirty = Candidate("thirty", Meaning("thirty"))
    wariness = Wariness()
    wariness.judge(OTHER)
    judged = wariness.judge(replace(HOOKED, maybe=(thirty,)))
    assert judged.maybe == (*ASKED_ABOUT.maybe, thirty)


SECOND = bytes(2 * RATE)


class Scene:
    """Blocks of a second: what is heard in each, None for silence, "voice" where the assistant speaks and is deaf."""

    open_question = (0, "pull")
    deaf = False
    speaking = False

    def __init__(self, *blocks: Heard | str | None) -> None:
        self.blocks, self.heard = blocks, list[Heard]()
        self.now: Heard | None = None
        hearer = Hearer(self, self, self, self, lambda news: None)  # type: ignore[arg-type]
        hearer.listen()

    def __iter__(self) -> Iterator[bytes]:
        for each in self.blocks:
            self.deaf, self.now = each == "voice", each if isinstance(each, Heard) else None
            yield SECOND

    def listen(self, ask: str) -> "Scene":
        return self

    def feed(self, block: bytes) -> Heard | None:
        return self.now

    def listened(self, turn: int, seconds: float, speaking: bool) -> None:
        """Silence is no matter here."""

    def hear(self, turn: int, heard: Heard) -> None:
        self.heard.append(heard)


@pytest.mark.parametrize("between", [None, "voice"])
def test_the_hearer_is_wary_for_so_much_sound_its_own_voice_included(between: str | None) -> None:
    soon, late = ([between] * (round(WARY_S) - each) for each in (2, 1))
    assert Scene(OTHER, *soon, HOOKED).heard == [OTHER, ASKED_ABOUT]
    assert Scene(OTHER, *late, HOOKED).heard == [OTHER, HOOKED]
