"""No figure of the report is rounded so that it contradicts the verdict beside it."""

from dataclasses import replace
from fractions import Fraction

import pytest

from assistant.core.advice import Outcome
from assistant.core.band import judge
from assistant.core.conditions import WIDE_STRIP
from assistant.core.fold import fold
from assistant.core.length import Length, System, feet, inches
from assistant.core.neighbours import Neighbours
from assistant.core.plan_cautions import _strip
from assistant.ledger.page import _share
from assistant.record import findings
from assistant.record.course import _apart, evenness
from assistant.record.export import as_json
from assistant.record.figures import over
from assistant.record.glance import tiles
from assistant.record.summary import JobSummary, PullSummary
from assistant.record.view import view
from assistant.screen.pull_view import _became
from tests.record import scenario
from tests.record.test_summary import WHOLE


def with_outcome(moved: Length) -> JobSummary:
    """The first pull, 1 1/2 in asked, computed to have held `moved`."""
    first = WHOLE.pulls[0]
    outcome = Outcome(moved, judge(moved, first.pull.band), measured=False)
    return replace(WHOLE, pulls=(replace(first, outcome=outcome), *WHOLE.pulls[1:]))


def of_first(summary: JobSummary) -> PullSummary:
    return summary.pulls[0]


def a_hair(below: bool) -> Length:
    """Outside the first pull's band by a ten thousandth of an inch and a bit."""
    band = WHOLE.pulls[0].pull.band
    assert band is not None and band.most is not None
    hair = inches(Fraction(1, 9973))
    return band.least - hair if below else band.most + hair


@pytest.mark.parametrize(
    ("below", "mark", "moved", "share"), [(True, "short", "1 7/16 in", "0.99 %"), (False, "over", "2 1/4 in", "1.51 %")]
)
def test_a_hair_outside_the_band_does_not_read_as_inside(below: bool, mark: str, moved: str, share: str) -> None:
    """147 5/8 in: 1.47625 to 2.214375 in."""
    summary = with_outcome(a_hair(below))
    shown = view(summary)["pulls"][0]
    assert (shown["mark"], shown["outcome"], shown["percent"]) == (mark, moved, share)
    assert as_json(summary)["pulls"][0]["outcome"] == {"inches": str(a_hair(below).inches), "tape": moved}
    assert f"pull 1 {mark} {share}" in evenness(summary)["directions"][1]["told"]
    (found,) = findings.of_pulls([(of_first(summary).pull, of_first(summary).outcome)], System.IMPERIAL)
    assert found.text.startswith(f"{moved} estimated")


def test_the_screen_likewise() -> None:
    """The pull before, where its reading less what hooking takes is a hair short."""
    state = fold(scenario.events())
    first = of_first(WHOLE)
    record = replace(first.record, hold=replace(first.record.readings[0], moved=a_hair(below=True)))
    state = replace(state, records=(record, *state.records[1:]))
    assert state.plan is not None
    assert _became(state, state.plan.pulls, 0) == "pull 1 holds 1 7/16 in ▼ short"


def test_the_worst_is_never_outside_by_nothing() -> None:
    summary = with_outcome(a_hair(below=True))
    (worst,) = [each for each in tiles(replace(summary, pulls=summary.pulls[:1])) if each.name.startswith("Worst")]
    assert (worst.figure, worst.remark) == ("0.99 %", "short by 0.01 points, estimated; to the right wall")


def test_what_is_over_a_setting_never_reads_as_being_at_it() -> None:
    assert (over(Fraction("0.1501")), over(Fraction("-0.1501")), over(Fraction("0.16"))) == ("0.16", "-0.16", "0.16")
    one, two = (each.pull for each in WHOLE.pulls[:2])
    jump = Neighbours(one, two, Fraction("0.1501"))
    assert [each.text for each in findings.of_jumps([jump])] == ["0.16 points apart, over 0.15"]
    assert _apart(jump).startswith("0.16 points")
    assert _apart(replace(jump, points=Fraction("0.1449"))).startswith("0.14 points")


def test_all_is_said_only_of_all() -> None:
    assert (_share(0.9999), _share(1.0), _share(0.5), _share(None)) == ("99.9 %", "100.0 %", "50.0 %", "–")
    good = next(each for each in WHOLE.pulls if each.mark == "in band")
    many = replace(with_outcome(a_hair(below=True)), pulls=(of_first(with_outcome(a_hair(below=True))), *[good] * 399))
    (share,) = [each for each in tiles(many) if each.name == "In band after hooking"]
    assert (share.figure, share.remark[:5]) == ("399 of 400", "99 %;")


def test_a_span_over_thirty_feet_is_not_called_thirty() -> None:
    pull = replace(WHOLE.pulls[0].pull, span=feet(30, "1/100000"))
    (caution,) = _strip(pull.direction, [pull], System.IMPERIAL)
    assert (caution.about, "a span of 30 ft 1/16 in is over 30 ft" in caution.text) == (WIDE_STRIP, True)
