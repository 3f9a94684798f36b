"""What a pull that was not measured again holds: voice, screen, report and ledger estimate it in one way."""

from fractions import Fraction
from pathlib import Path
from random import Random

import pytest

from assistant.core.band import Verdict
from assistant.core.length import Length, System, feet, inches, tape
from assistant.core.spoken import length
from assistant.ledger.careful import careful_facts
from assistant.ledger.made import write_job
from assistant.ledger.swift import glanced_facts, swift_facts
from assistant.record.course import hooking
from assistant.record.summary import PullSummary, pulls_of
from assistant.screen import pull_view
from assistant.screen.badge import badge
from assistant.wording import word
from tests.conftest import SETUP, Talk
from tests.ledger.yard import BEGUN
from tests.record.test_summary import of


def room(long: str, wide: str) -> Talk:
    """At the first pull: cross pulls span `wide`, length pulls `long`."""
    size = SETUP.index("fourteen feet six inches")
    setup = [*SETUP[:size], long, "yes", wide, "yes", *SETUP[size + 4 :]]
    return Talk().hear(*setup)


def say(moved: Length) -> str:
    return length(moved, System.IMPERIAL)


def pull(talk: Talk, reading: Fraction, loss: Fraction | None) -> Talk:
    """One pull; where it is asked, `loss` is what hooking took, None = left out."""
    talk.hear(say(Length(reading)), "hooked")
    if talk.asks == "confirm":
        talk.hear("yes")
    if talk.asks == "hold":
        talk.hear("skip" if loss is None else say(Length(reading - loss)))
    while talk.asks == "confirm":
        talk.hear("no" if talk.state.why == "pull_again" else "yes")
    return talk.hear("ready") if talk.asks == "ready" else talk


def test_the_report_judges_a_long_pull_by_its_share_as_the_voice_does() -> None:
    """12 ft lost 1/8 in; of 30 ft that is 5/16 in: 3 3/4 in will hold 3 7/16, under the least of 3.6 in [derived]."""
    talk = room("thirty feet", "twelve feet")
    while talk.state.pull is not None and talk.state.pull.span == feet(12):
        pull(talk, Fraction(7, 4), Fraction(1, 8))
    number = talk.state.at
    assert talk.hear("three and three quarters").keys[-1] == "in_band_thin"
    pull(talk, Fraction(15, 4), None)
    made = of(talk.events).pulls[number]
    assert (made.mark, made.estimated) == ("short", True)
    assert made.outcome is not None and made.outcome.moved == inches("55/16")
    assert pull_view.last(talk.state) == f"pull {number + 1} about 3 7/16 in {badge(Verdict.SHORT).sign} short"


def test_what_later_pulls_lose_is_told_where_it_changes_a_verdict() -> None:
    """Nothing was known to be lost at pull 1: 1 1/2 in was in band. Then 12 ft lost 1/8 in: 1 3/8 in is short."""
    talk = pull(room("thirty feet", "twelve feet"), Fraction(3, 2), None)
    assert pull_view.last(talk.state).endswith("in band")
    assert not [each for each in of(talk.events).findings if each.kind == "other verdict"]
    pull(talk, Fraction(7, 4), Fraction(1, 8))
    found = of(talk.events)
    assert [each.mark for each in found.pulls[:2]] == ["short", "in band"]
    (told,) = [each for each in found.findings if each.kind == "other verdict"]
    assert (told.pulls, told.text) == ((1,), "shown as in band when hooked, short by what others lost since")


def test_a_pull_that_later_losses_leave_short_is_told_before_the_job_is_closed() -> None:
    """Pull 1 held 1 1/2 in when hooked, 1 3/8 in by what the others lost; pull 3 was short from the first."""
    talk = pull(room("thirty feet", "twelve feet"), Fraction(3, 2), None)
    talk = pull(pull(talk, Fraction(7, 4), Fraction(1, 8)), Fraction(1), None)
    while talk.state.pull is not None:
        talk.hear("skip pipe")
        if talk.asks == "ready":
            talk.hear("ready")
    found = of(talk.events).findings
    assert [each.pulls for each in found if each.kind == "other verdict"] == [(1,)]
    assert {each.pulls for each in found if each.kind == "short"} >= {(1,)}
    assert talk.ask is not None
    told = next(word(each, System.IMPERIAL) for each in talk.ask.lines if each.key == "now_short")
    assert (told.say, told.show) == ("Later losses leave one short: first pull one.", "Later losses leave short: 1.")


def test_a_pull_taken_up_again_in_vain_keeps_the_verdict_it_was_shown_with() -> None:
    """'Go back' and 'scratch that' are no hooking: shown as in band when it was hooked, not as at the scratching."""
    talk = pull(room("thirty feet", "twelve feet"), Fraction(3, 2), None)
    talk = pull(talk, Fraction(7, 4), Fraction(1, 8))
    talk.hear(*["go back"] * talk.state.at, "scratch that")
    found = of(talk.events).findings
    assert [(each.pulls, each.text[:18]) for each in found if each.kind == "other verdict"] == [
        ((1,), "shown as in band w")
    ]


def test_what_hooking_lost_is_told_by_direction_as_a_share() -> None:
    """1/8 in of 12 ft is 0.09 %, 5/16 in of 30 ft as well: no figure in inches holds for both."""
    talk = room("thirty feet", "twelve feet")
    while talk.state.pull is not None and talk.state.pull.span == feet(12):
        pull(talk, Fraction(7, 4), Fraction(1, 8))
    assert hooking(of(talk.events))["usual"] == ["cross 0.09 %, at most 0.09 %"]
    pull(talk, Fraction(17, 4), Fraction(5, 16))
    assert hooking(of(talk.events))["usual"] == ["length 0.09 %, at most 0.09 %", "cross 0.09 %, at most 0.09 %"]


FEET = ("eight", "ten", "twelve", "thirteen", "twenty two", "thirty")


@pytest.mark.parametrize("seed", range(8))
def test_screen_report_and_ledger_tell_one_figure(tmp_path: Path, seed: int) -> None:
    """Random rooms, losses that scatter and drift, hold readings left out, pulls made again."""
    dice = Random(f"estimate {seed}")
    talk = room(*(f"{dice.choice(FEET)} feet" for _ in "ab"))
    shown: dict[int, str] = {}
    while talk.state.pull is not None:
        at = talk.state.at
        if at and dice.random() < 0.08:
            talk.hear("go back")
            at = talk.state.at
        loss = talk.state.pull.stretched.inches * Fraction(dice.choice((2, 6, 9 + at)), 8000)
        reading = talk.state.pull.stretched.inches * Fraction(dice.choice((10, 11, 12, 13)), 1000)
        moved, lost = (Length(each).nearest(inches("1/16")).inches for each in (reading, loss))
        pull(talk, moved, None if dice.random() < 0.3 else lost)
        if talk.state.pull is not None and talk.state.at == at + 1:
            shown[at + 1] = pull_view.last(talk.state)
            assert shown[at + 1] == told(pulls_of(talk.state)[at])
    found = of(talk.events)
    changed = {each.pulls[0] for each in found.findings if each.kind == "other verdict"}
    assert changed == {n for n, text in shown.items() if text[-5:] != told(found.pulls[n - 1])[-5:]}
    path = write_job(tmp_path / "1.job", talk.events, BEGUN)
    careful = careful_facts(path.name, path)
    assert glanced_facts(path.name, path.read_bytes()) == swift_facts(path.name, path.read_bytes()) == careful
    assert [each.percent for each in careful[1]] == [float(each.percent or 0) for each in found.pulls]


def told(made: PullSummary) -> str:
    moved = made.moved(System.IMPERIAL)
    assert made.outcome is not None and moved is not None
    how, mark = ("about" if made.estimated else "holds"), badge(made.outcome.verdict)
    return f"pull {made.pull.number} {how} {tape(moved, System.IMPERIAL)} {mark.sign} {mark.word}"
