"""The results page and its pictures, from made-up outcomes."""

import xml.etree.ElementTree as Xml
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.hearing.chart import Chart, Dot, Series, draw
from assistant.hearing.manifest import Item
from assistant.hearing.outcome import Difference, Outcome
from assistant.hearing.page import Results, page, shown, told_apart
from assistant.hearing.pictures import pictures
from assistant.hearing.sound import conditions

SVG = "{http://www.w3.org/2000/svg}"
UNDER = conditions(["pink", "room"], [10, 5])


def outcomes(voice: str, right: int, count: int = 20) -> list[Outcome]:
    """`right` of `count` sentences right, the others 'thirteen' for 'thirty'; half of 4 others taken."""
    found = []
    for each in UNDER:
        for number in range(count):
            item = Item(Path(f"{voice}{number}.ogg"), "size", "thirty feet", "size 360 in", voice, 1, "task")
            said = ("thirty feet", "size 360 in") if number < right else ("thirteen feet", "size 156 in")
            found.append(Outcome(item, str(each), *said, 1.0, 0.4))
        for number in range(4):
            item = Item(Path(f"{voice}o{number}.ogg"), "size", "hello", "none", voice, 1, "talk")
            found.append(Outcome(item, str(each), "help", "help" if number < 2 else "none", 1.0, 0.4))
    return found


def test_bars_met_and_missed_are_told() -> None:
    text = page(Results("ours", outcomes("am_x", 19), "pullcall evaluate"))
    assert "| clean | 95.0 (76.4-99.1) | 98: short by 3.0 |" in text
    assert "| pink 10 dB | 95.0 (76.4-99.1) | 95: met |" in text
    assert "50.0 (15.0-85.0), 5: short by 45.0" in text
    assert "| thirty | thirteen | 4 |" in text
    assert "400 / 400 ms" in text
    assert "Human speech" not in text
    assert "\n20 sentences and 4 recordings of other speech, 1 voice.\n" in text


def test_where_nobody_says_a_sentence_there_is_no_verdict_on_them() -> None:
    text = page(Results("ours", [each for each in outcomes("am_x", 20) if not each.item.inside], "pullcall evaluate"))
    assert "| clean | - |  | - | - | - | - | - | - | - | 50.0 (15.0-85.0), 5: short by 45.0 | - |" in text
    assert "nan" not in text


def test_one_of_a_thing_is_told_as_one() -> None:
    assert told_apart(1, 2) == "1 sentence and 1 recording of other speech"
    assert told_apart(0, 2) == "0 sentences and 2 recordings of other speech"


def test_people_are_reported_apart() -> None:
    text = page(Results("ours", [*outcomes("am_x", 20), *outcomes("human:fcaw", 10)], "pullcall evaluate"))
    synthetic, human = text.split("## Human speech")
    assert "| clean | 100.0" in synthetic and "human:fcaw" not in synthetic
    assert "| clean | 50.0" in human and "am_x" not in human


def test_two_engines_stand_side_by_side() -> None:
    differences = (("clean", Difference(9, 0, 0.0039)),)
    results = Results("ours", outcomes("am_x", 19), "pullcall", "other", outcomes("am_x", 10), differences)
    assert "| clean | 95.0 (76.4-99.1) | 50.0 (29.9-70.1) |" in page(results)
    assert "| 9 | 0 | 0.0039 |" in page(results)
    names = [each.text for each in Xml.fromstring(pictures(results, UNDER)["right.svg"]).iter(f"{SVG}text")]
    assert {"ours, pink", "other, pink", "asked for", "clean", "10", "5"} <= {*names}


def test_a_line_goes_through_its_values() -> None:
    line = Series("s", [Dot(0, 0), Dot(1, 100, 90, 100)])
    chart = Chart("t", "x", "y", [("a", 0.0), ("b", 1.0)], [0.0, 50.0, 100.0], [line])
    root = Xml.fromstring(draw(chart))
    (drawn,) = root.iter(f"{SVG}polyline")
    assert drawn.get("points") == "100.0,360.0 510.0,40.0"
    assert len([*root.iter(f"{SVG}circle")]) == 2


def test_values_outside_the_axis_stay_on_the_paper_and_names_are_inert() -> None:
    chart = Chart("<t>", "x", "y", [("a", 0.0)], [0.0, 10.0], [Series("a<b", [Dot(0, 99)])])
    (dot,) = Xml.fromstring(draw(chart)).iter(f"{SVG}circle")
    assert dot.get("cy") == "40.0"
    assert "a&lt;b" in draw(chart)


def test_a_bar_in_a_cell_does_not_break_the_table() -> None:
    wrong = replace(outcomes("am_x", 0)[0], text="a|b")
    assert "a\\|b" in page(Results("ours", [wrong], "pullcall evaluate"))


@pytest.mark.parametrize(
    ("file", "named"),
    [("/home/fitter/sets/people/manifest.tsv", "people/manifest.tsv"), ("set/manifest.tsv", "set/manifest.tsv")],
)
def test_a_page_names_no_folders_of_a_machine(file: str, named: str) -> None:
    assert shown(Path(file)) == named
