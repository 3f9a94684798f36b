"""Conditions, figures and patterns as the report, the table, the JSON and the terminal tell them."""

import csv
import io
import json
from fractions import Fraction
from html import unescape
from pathlib import Path

import pytest

from assistant.core import events as ev
from assistant.core.band import Construction, Figure
from assistant.core.length import System, feet, inches
from assistant.core.meaning import Quantity
from assistant.core.order import Direction
from assistant.core.room import Axis, Corner
from assistant.record.limits import LIMITS
from assistant.record.report import render_csv, render_html, render_json
from assistant.record.review import SUFFIX, review
from assistant.record.summary import JobSummary, summarise
from assistant.record.telling import noted, quantity, tell
from assistant.record.view import view
from tests.record import scenario

MAKER = Figure(Fraction(1), Fraction(3, 2), from_maker=True)
DAY = (
    ev.ConditionNoted("temperature", Quantity(Fraction(71), "F")),
    ev.ConditionNoted("humidity", Quantity(Fraction(70), "pct")),
    ev.ConditionNoted("unrolled", None),
    ev.ConditionNoted("cushion", Quantity(Fraction(7, 16), "in")),
    ev.ConditionWorded("strip", "one_row"),
    ev.ConditionNoted("gully", Quantity(Fraction(10), "mm")),
    ev.ConditionWorded("slab_humidity", "no_slab"),
)


def turns(
    *day: ev.Event, construction: Construction = Construction.TUFTED_SYNTHETIC, figure: Figure | None = MAKER
) -> list[scenario.Turn]:
    """A job of 31 by 12 ft with a pattern in its length, its first pull read strong and held light."""
    events: list[ev.Event] = [
        scenario.started(),
        ev.JobNamed("3"),
        ev.ConstructionChosen(construction),
        ev.PatternSet(Direction.LENGTH, Fraction(1, 4)),
        ev.FigureSet(Direction.LENGTH, figure),
        ev.FigureSet(Direction.CROSS, figure),
        *day,
        ev.SidesSet(feet(31), feet(12), System.IMPERIAL),
        ev.CornerChosen(Corner.DOOR_LEFT),
        ev.LayChosen(Axis.DOOR_TO_FAR),
        ev.PassBegun(1),
        ev.ReadingTaken(inches("13/8"), "strong"),
        ev.Hooked(),
        ev.HoldTaken(inches("25/16"), "light"),
    ]
    return [(5.0, (each,)) for each in events]


def summary(*day: ev.Event, **carpet: Construction) -> JobSummary:
    return summarise(scenario.rows(turns(*day, **carpet)))


WHOLE = summary(*DAY)


def test_each_condition_against_its_limit() -> None:
    rows = {each["kind"]: (each["value"], each["state"]) for each in view(WHOLE)["conditions"]}
    assert rows == {
        "temperature": ("71 °F", "within"),
        "humidity": ("70 %", "outside"),
        "unrolled": ("not recorded", "not recorded"),
        "cushion": ("7/16 in", "within"),
        "strip": ("one row", "outside"),
        "gully": ("10 mm", "outside"),
        "slab humidity": ("no slab", "nothing to measure"),
        "slab pH": ("no slab", "nothing to measure"),
    }
    page = unescape(render_html(WHOLE))
    for each in view(WHOLE)["conditions"]:
        assert all(text in page for text in (each["value"], each["limit"], each["source"]))


def test_every_caution_stays_in_the_report_with_its_source() -> None:
    told = [(each.text, each.source) for each in WHOLE.cautions]
    for text, source in (
        ("70 % humidity: at most 65 % asked", "CRI 105 (2015) s.7.2"),
        ("unrolled: not recorded", "skipped by the installer"),
        ("gully 10 mm: at most 3/8 in asked, and slightly less than the carpet is thick", "CRI 105 s.11.1"),
    ):
        assert (text, source) in told
        assert text in render_html(WHOLE)
    strip = [text for text, source in told if text.startswith("one row of strip is down; length pulls")]
    assert len(strip) == 1 and "over 30 ft" in strip[0]
    assert any("berber" in text for text, _ in told)


@pytest.mark.parametrize("word", ["two_rows", "wide"])
def test_enough_strip_is_within(word: str) -> None:
    found = summary(ev.ConditionWorded("strip", word))
    strip = next(each for each in found.conditions if each.kind == "strip")
    assert (strip.state, [each for each in found.cautions if "30 ft" in each.text]) == ("within", [])


def test_an_attached_cushion_is_nothing_to_measure() -> None:
    found = summary(construction=Construction.ATTACHED_CUSHION)
    cushion, strip = (next(each for each in found.conditions if each.kind == kind) for kind in ("cushion", "strip"))
    assert (cushion.shown, cushion.state) == ("attached to the carpet", "nothing to measure")
    assert (strip.shown, strip.state) == ("not asked", "not asked")


def test_what_was_skipped_at_once_is_not_recorded_one_by_one() -> None:
    found = summary(ev.ConditionsSkipped(("gully", "slab_ph")))
    assert {each.kind for each in found.conditions if each.state == "not recorded"} == {"gully", "slab_ph"}
    assert {"gully: not recorded", "slab pH: not recorded"} <= {each.text for each in found.cautions}


def test_the_pattern_is_shown_beside_the_figure_and_apart_from_it() -> None:
    length, cross = WHOLE.directions
    assert (length.figure, length.pattern) == (Figure(Fraction(5, 4), Fraction(7, 4), from_maker=True), Fraction(1, 4))
    assert (cross.figure, cross.pattern) == (MAKER, 0)
    assert "1.25 to 1.75 % (0.25 % for the pattern)" in render_html(WHOLE)
    found = json.loads(render_json(WHOLE))["directions"]
    assert [each["pattern_percent"] for each in found] == ["1/4", None]
    assert [each["least_percent"] for each in found] == ["5/4", "1"]


def test_a_pattern_without_a_figure_is_shown_and_judges_nothing() -> None:
    rows = scenario.rows(turns(construction=Construction.WOVEN, figure=None))
    length = summarise(rows).directions[0]
    assert (length.figure, length.pattern, length.vouch) == (None, Fraction(1, 4), "none")
    assert "none (0.25 % for the pattern)" in render_html(summarise(rows))


def test_strong_and_light_are_in_every_form_of_the_report() -> None:
    first = json.loads(render_json(WHOLE))["pulls"][0]
    assert (first["readings"][0]["manner"], first["hold_manner"]) == ("strong", "light")
    assert first["hold"]["inches"] == "25/16"
    row = next(csv.DictReader(io.StringIO(render_csv(WHOLE))))
    assert (row["readings"], row["hold"]) == ("1 5/8 in strong", "1 9/16 in light")
    assert "1 9/16 in light" in render_html(WHOLE)


def test_conditions_in_the_json() -> None:
    found = json.loads(render_json(WHOLE))["conditions"]
    assert found["strip"] == {
        "noted": True, "quantity": None, "word": "one_row", "state": "outside", "caution": found["strip"]["caution"]
    }  # fmt: skip
    assert (found["cushion"]["quantity"], found["cushion"]["word"]) == ({"unit": "in", "value": "7/16"}, None)
    assert (found["slab_ph"]["noted"], found["slab_ph"]["state"]) == (False, "nothing to measure")


def test_the_terminal_tells_the_day_in_one_line(tmp_path: Path) -> None:
    found = review(scenario.write(tmp_path / f"3{SUFFIX}", turns(*DAY)))
    line = next(each for each in found.text.splitlines() if each.startswith("conditions"))
    assert line == (
        "conditions temperature 71 °F, humidity 70 %, unrolled not recorded, cushion 7/16 in, strip one row, "
        "gully 10 mm, slab humidity no slab"
    )


@pytest.mark.parametrize(
    ("event", "told"),
    [
        (ev.PatternSet(Direction.LENGTH, Fraction(1, 4)), "on top, length: 0.25 % for the pattern"),
        (ev.PatternSet(Direction.LENGTH, Fraction(5, 16)), "on top, length: 0.3125 % for the pattern"),
        (
            ev.FigureSet(Direction.LENGTH, Figure(Fraction(19, 16), None, True)),
            "maker's figure, length: at least 1.1875 %",
        ),
        (ev.ConditionNoted("slab_ph", Quantity(Fraction(46, 5), "pH")), "slab pH: 9.2"),
        (ev.ConditionNoted("cushion", Quantity(Fraction(11), "mm")), "cushion: 11 mm"),
        (ev.ConditionWorded("strip", "two_rows"), "strip: two rows"),
        (ev.ConditionsSkipped(("gully", "slab_humidity")), "not recorded: gully, slab humidity"),
    ],
)
def test_each_event_in_words(event: ev.Event, told: str) -> None:
    assert tell(event, System.IMPERIAL) == told


def test_a_condition_in_words() -> None:
    assert quantity(None) == "not recorded"
    assert [noted(each) for each in (WHOLE.conditions[2].noted, WHOLE.conditions[4].noted) if each] == [
        "not recorded",
        "one row",
    ]


def test_limits_are_the_trades() -> None:
    assert LIMITS["temperature"].text == ("65 to 95 °F, never below 50 °F; held 48 h before, during and 72 h after")
    assert LIMITS["humidity"].source == "CRI 105 (2015) s.7.2; CRI 105 (1994) s.5.2 (second hand)"
    assert LIMITS["cushion"].text == "at most 7/16 in; 3/8 in under berber or low profile"
    assert LIMITS["strip"].text == (
        "1 x 1/4 in; spans over 30 ft: 1 3/4 in three-row, or two rows; "
        "at least 2 fasteners a piece; none across openings"
    )
    assert LIMITS["slab_ph"].text == "at most 9"
