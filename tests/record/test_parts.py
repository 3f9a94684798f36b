"""Pulls worked in parts between deadmen, as plan, screen, report and ledger show them: by one part, and saying so."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from assistant import plan_view
from assistant.core import events as ev
from assistant.core.plan import Plan, Pull
from assistant.ledger.careful import careful_facts
from assistant.ledger.made import write_job
from assistant.ledger.swift import swift_facts
from assistant.record.chart import chart_scale, draw_chart
from assistant.record.export import as_json
from assistant.record.report import render_csv
from assistant.record.summary import JobSummary
from assistant.screen import pull_view
from tests.conftest import Talk
from tests.core.test_parts import FORTY, begun
from tests.ledger.yard import BEGUN
from tests.record.test_summary import of

PART = "each of 2 parts of 20 ft"


@pytest.fixture(scope="module")
def talk() -> Talk:
    """The first pull as it should be, the second by the whole span's least: twofold."""
    told = begun(*FORTY).hear("two and three quarters", "hooked", "two and five eighths")
    return told.hear("four and seven eighths", "yes", "hooked", "four and three quarters", "yes")


@pytest.fixture(scope="module")
def found(talk: Talk) -> JobSummary:
    return of(talk.events)


def plan_of(talk: Talk) -> Plan:
    assert talk.state.plan is not None
    return talk.state.plan


def pull_of(talk: Talk) -> Pull:
    assert talk.state.pull is not None
    return talk.state.pull


def test_the_plan_says_so(talk: Talk) -> None:
    (row,) = [each for each in plan_view.as_text(plan_of(talk)).splitlines() if each.startswith("  1 ")]
    assert " 40 ft  " in row and " 2 7/16 in  " in row and row.endswith(PART)
    pull = plan_view.as_json(plan_of(talk))["passes"][0]["pulls"][0]
    assert (pull["span"]["tape"], pull["parts"], pull["stretched"]["tape"]) == ("40 ft", 2, "20 ft")
    assert pull["tubes"] == "too long for the kit, each part 4 x 4 ft, hole 1"


def test_the_screen_says_so() -> None:
    talk = begun(*FORTY)
    shown = pull_view.content(talk.state, pull_of(talk))
    assert (shown.instruction, shown.value) == ("Each part at least", "2 7/16 in")
    assert pull_view.target(talk.state) == "least 2 7/16 in, most 3 9/16 in, each of 2 parts"


def test_the_screen_says_so_without_a_figure() -> None:
    talk = begun("job one", "woven", *FORTY[2:])
    assert pull_view.content(talk.state, pull_of(talk)).instruction == "What one part moved"
    talk.hear("two and a half")
    badge = pull_view.content(talk.state, pull_of(talk)).badge
    assert badge is not None and badge.more == "1.04 %"


def test_the_report_judges_and_tells_one_part(found: JobSummary) -> None:
    one, two = found.pulls[:2]
    assert (one.mark, one.percent) == ("in band", Fraction(21, 8) / 240 * 100)
    assert (two.mark, two.percent) == ("over", Fraction(19, 4) / 240 * 100)
    (over,) = [each for each in found.findings if each.kind == "over"]
    assert over.text == "4 3/4 in measured, at most 3 9/16 in of each of 2 parts asked"
    assert not [each for each in found.findings if each.kind == "other plan"]
    row = render_csv(found).splitlines()[1]
    assert "2 7/16 in to 3 9/16 in" in row and PART in row
    pull = as_json(found)["pulls"][0]
    assert (pull["span"]["tape"], pull["parts"], pull["stretched"]["tape"]) == ("40 ft", 2, "20 ft")


def test_the_chart_draws_shares_of_one_part(found: JobSummary) -> None:
    full = chart_scale(found.pulls)
    drawn = draw_chart(found.pulls[0], full)
    assert drawn.least is not None and drawn.outcome is not None
    assert drawn.outcome / drawn.least == pytest.approx(float(Fraction(21, 8) / Fraction(24, 10)), rel=0.001)


def test_an_older_log_is_told_to_be_planned_otherwise(talk: Talk) -> None:
    events = [replace(each, plan="0f") if isinstance(each, ev.LayChosen) else each for each in talk.events]
    assert of(events).findings[0].kind == "other plan"


def test_the_ledger_reads_swiftly_what_it_reads_carefully(talk: Talk, tmp_path: Path) -> None:
    path = write_job(tmp_path / "1.job", talk.events, BEGUN)
    careful = careful_facts(path.name, path)
    assert swift_facts(path.name, path.read_bytes()) == careful
    assert careful[1][0].percent == float(Fraction(21, 8) / 240 * 100)
