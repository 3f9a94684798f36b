"""The report: complete, self-contained, inert, readable by everyone, the same every time."""

import csv
import io
import json
import re
from dataclasses import replace
from fractions import Fraction
from html.parser import HTMLParser
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core import events as ev
from assistant.core.band import Construction, Figure
from assistant.core.length import Length, System, feet, inches
from assistant.core.room import Axis, Corner, Wall
from assistant.exits import Exit, Refusal
from assistant.record import marks
from assistant.record.cautions import safety_cautions
from assistant.record.chart import CHART_WIDTH, draw_chart
from assistant.record.drawing import MARGIN, Arrow, PlanDrawing
from assistant.record.drawing import draw_plan as draw
from assistant.record.figures import clock_time, day_and_time, duration
from assistant.record.report import (
    cell,
    render_csv,
    render_html,
    render_json,
    render_sheet,
    write_csv,
    write_json,
    write_report,
)
from assistant.record.summary import JobSummary, summarise
from tests.contrast import of_hex as contrast
from tests.record import scenario
from tests.record.test_summary import reading_all

WHOLE = summarise(scenario.rows())
PAGE = render_html(WHOLE)
TEMPLATES = Path(__file__).parents[2] / "assistant/record/templates"
STYLE = "".join((TEMPLATES / f"{name}.css").read_text(encoding="utf-8") for name in ("drawing", "style"))
VOID = {"meta", "link", "br", "img", "input", "hr"}
HOSTILE = "<script>alert(1)</script>\"'&{{7*7}}"


class Page(HTMLParser):
    """What a browser would find."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.tags if name == tag]


FOUND = Page(PAGE)


def with_words(words: str) -> JobSummary:
    """The scenario with hostile words wherever a word can be."""
    turns = [
        (0, (ev.Started(words, words, scenario.started().order), ev.JobNamed(words))),
        *scenario.whole(),
        (1, (ev.PullReopened(6), ev.NoteMade(words), ev.PullSkipped(words), ev.Refused(words), ev.VoiceChanged(words))),
        (1, (ev.Said(words, words, 0.5, words), ev.JobNamed(words), ev.Missed("nomatch"))),
    ]
    return summarise(scenario.rows(turns), damage=words)


def test_tags_are_balanced() -> None:
    assert FOUND.open == []


def test_nothing_is_fetched_and_nothing_runs() -> None:
    names = {tag for tag, _ in FOUND.tags}
    assert not names & {"script", "link", "img", "iframe", "object", "embed", "form", "base", "font"}
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)", PAGE)
    assert not [name for _, attrs in FOUND.tags for name in attrs if name.startswith("on")]
    ids = {each["id"] for _, each in FOUND.tags if each.get("id")}
    assert {(each["href"] or "")[1:] for tag in ("use", "a") for each in FOUND.all(tag)} <= ids
    assert all((each["href"] or "").startswith("#") for tag in ("use", "a") for each in FOUND.all(tag))
    assert "default-src 'none'" in PAGE


def test_the_same_job_gives_the_same_bytes() -> None:
    again = summarise(scenario.rows())
    assert (render_html(again), render_csv(again), render_json(again)) == (PAGE, render_csv(WHOLE), render_json(WHOLE))


def test_the_top_says_it_all() -> None:
    top = FOUND.text.split("The job ", 1)[0]
    for told in (
        "Job 0427",
        marks.headline(WHOLE),
        "15 of 17",
        "1.09 %",
        "1.16 %",
        "Worst: pull 16",
        "0.93 %",
        "estimated",
    ):
        assert told in top
    assert all(each in top for each in WHOLE.code.split())


def test_every_section_is_there() -> None:
    for heading in (
        *("Every pull, where it was made", "By direction", "Pull by pull", "Exceptions"),
        *("Evenness between neighbours", "What hooking lost, and bites", "How often the recogniser was wrong"),
        *("Conditions against the published limits", "Time", "Corrections", "What was heard", "Cautions"),
        "What this proves and what it does not",
    ):
        assert f"<h2>{heading}</h2>" in PAGE
    assert PAGE.count("<h1>") == 1


def test_what_it_proves_is_not_overstated() -> None:
    for told in (
        "could still cut off its end",
        "kept elsewhere",
        "read off the tape rightly",
        "not measured after hooking",
    ):
        assert told in FOUND.text


def test_every_pull_has_its_row_arrow_and_chart() -> None:
    charts = [each["aria-label"] or "" for each in FOUND.all("svg") if each.get("class") == "chart"]
    assert len(charts) == 18 and charts[15].startswith("Pull 16: 0.93 %, band 1 1/2 in to 2 3/16 in, short")
    assert PAGE.count('class="arrow"') == 18
    rows = re.findall(
        r'<th scope="row" class="number"><a href="#pull-(\d+)" aria-label="Pull \1: history">\1</a>', PAGE
    )
    assert [int(each) for each in rows] == list(range(1, 19))


def test_every_verdict_is_word_shape_and_colour() -> None:
    symbols = {each["id"] for each in FOUND.all("symbol")}
    assert symbols == {each.name for each in marks.ALL}
    assert len({each.shape for each in marks.ALL}) == len(marks.ALL)
    for each in marks.ALL:
        assert f".{each.name} {{ color: var(--{each.name}); }}" in STYLE
        assert marks.of(each.key) is each
    assert re.search(r'class="tag short">\s*<svg[^>]*><use href="#short"/></svg>\s*short', PAGE)


def test_tables_have_captions_and_scopes_and_drawings_have_words() -> None:
    assert PAGE.count("<table") == PAGE.count("<caption>") > 3
    assert all(each.get("scope") for each in FOUND.all("th"))
    for each in FOUND.all("svg"):
        assert each.get("aria-hidden") == "true" or each.get("role") == "img"
    assert "Pull 16 to the right wall at 12 ft 1/2 in: short." in FOUND.text
    assert '<html lang="en">' in PAGE


THEMES = [dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", block)) for block in re.findall(r":root \{[^}]*\}", STYLE)]


@pytest.mark.parametrize("theme", THEMES, ids=["light", "dark", "print"])
def test_text_contrast_is_at_least_seven_to_one(theme: dict[str, str]) -> None:
    for ink in ("ink", "soft", *(each.name for each in marks.ALL)):
        for ground in ("paper", "sheet"):
            assert contrast(theme[ink], theme[ground]) >= 7, (ink, ground)


def test_light_dark_and_print() -> None:
    assert len(THEMES) == 3 and THEMES[0] == THEMES[2] != THEMES[1]
    assert "prefers-color-scheme: dark" in STYLE and "@media print" in STYLE


def test_words_of_the_job_are_inert() -> None:
    page = render_html(with_words(HOSTILE))
    found = Page(page)
    assert found.open == [] and not found.all("script")
    assert HOSTILE not in page and "<script" not in page
    assert found.text.count(HOSTILE) > 5  # shown as it was said, and nothing more


@settings(max_examples=25, deadline=None)
@given(st.text(max_size=30))
def test_any_words_make_a_report(words: str) -> None:
    turns = [(0, (scenario.started(), ev.JobNamed(words), ev.Said("job", words, 0.5, words)))]
    summary = summarise(scenario.rows(turns), damage=words)
    assert Page(render_html(summary)).open == []
    assert next(csv.reader(io.StringIO(render_csv(summary))))[0] == "job"
    assert json.loads(render_json(summary))["job"] == words


def test_reports_of_jobs_of_every_length() -> None:
    turns = scenario.whole()
    for count in (0, 1, 5, 12, 14, 20, 40):
        summary = summarise(scenario.rows(turns[:count]), damage="row 9 is missing")
        page = Page(render_html(summary))
        assert page.open == [] and "row 9 is missing" in page.text and "Job code of these rows" in page.text
        json.loads(render_json(summary))


def test_of_a_damaged_job_nobody_says_whether_it_was_closed() -> None:
    """Its last rows cannot be read: the close may be among them, and the code of the others is nobody's code."""
    rows = scenario.rows()[:-5]
    open_one, damaged = summarise(rows), summarise(rows, "row 149 is missing")
    assert marks.headline(damaged).endswith(" Whether the job was closed cannot be read.")
    for render in (render_html, render_sheet):
        assert "The job was not closed." in render(open_one) and "so far" in render(open_one)
        assert "not closed" not in render(damaged) and "so far" not in render(damaged)
        assert f"What follows rests on {len(rows)} rows." in render(damaged)
    closed = summarise(scenario.rows(), "written by a newer pullcall (format 9): what it added is not shown")
    assert "cannot be read" not in marks.headline(closed) and "of these rows" not in render_html(closed)


def test_rows_after_the_close_are_told() -> None:
    found = summarise(scenario.rows([*scenario.whole(), (5, (scenario.started(),))]))
    assert "Rows added after the one this code stands for: 1." in render_html(found)


def test_a_clock_jump_is_told() -> None:
    rows = list(scenario.rows())
    rows[-1] = replace(rows[-1], wall="2026-03-18T09:48:37.000+01:00")
    found = summarise(rows)
    for page in (render_html(found), render_sheet(found)):
        assert f"The wall clock jumped forward by 24 h 00 min before row {rows[-1].seq}" in page


# The drawing.


def draw_plan(summary: JobSummary) -> PlanDrawing | None:
    return draw(summary.plan, {each.pull.number: each.mark for each in summary.pulls}) if summary.plan else None


@pytest.mark.parametrize("corner", list(Corner))
@pytest.mark.parametrize("lay", list(Axis))
def test_the_plan_is_to_scale_and_every_pull_on_its_wall(corner: Corner, lay: Axis) -> None:
    turns = [*list(scenario.set_up())[:-2], (1, (ev.CornerChosen(corner), ev.LayChosen(lay)))]
    summary = summarise(scenario.rows(turns))
    drawing = draw_plan(summary)
    assert drawing is not None and summary.room is not None
    left, top, wide, high = drawing.room
    assert wide / high == pytest.approx(float(summary.room.width.per(summary.room.length)), rel=1e-4)
    walls = {Wall.LEFT: left, Wall.RIGHT: left + wide, Wall.FAR: top, Wall.DOOR: top + high}
    for arrow, each in zip(drawing.arrows, summary.pulls, strict=True):
        upright = each.pull.wall in (Wall.FAR, Wall.DOOR)
        tip, along = (arrow.head[0][1], arrow.head[0][0]) if upright else arrow.head[0]
        assert abs(tip - walls[each.pull.wall]) < 8
        near = walls[corner.walls[each.pull.axis.other]]
        position = float(each.pull.position.inches) * drawing.scale
        assert abs(along - near) == pytest.approx(position, abs=0.02)
        tail = arrow.tail[1] if upright else arrow.tail[0]
        assert abs(tail - walls[each.pull.wall]) > abs(tip - walls[each.pull.wall])


def box(arrow: Arrow) -> tuple[tuple[float, float], tuple[float, float]]:
    """Least and most x, least and most y."""
    xs, ys = zip(arrow.tail, *arrow.head, strict=True)
    return (min(xs), max(xs)), (min(ys), max(ys))


def in_room(length: Length, width: Length, corner: Corner, lay: Axis) -> JobSummary:
    sides = ev.SidesSet(length, width, System.IMPERIAL)
    turns = [*list(scenario.set_up())[:-2], (1, (sides, ev.CornerChosen(corner), ev.LayChosen(lay)))]
    return summarise(scenario.rows(turns))


@pytest.mark.parametrize(
    "summary",
    [
        WHOLE,
        in_room(inches(120), inches(292), Corner.FAR_RIGHT, Axis.LEFT_TO_RIGHT),
        in_room(feet(60), feet(40), Corner.DOOR_RIGHT, Axis.DOOR_TO_FAR),
        in_room(feet(8), feet(9), Corner.FAR_LEFT, Axis.DOOR_TO_FAR),
    ],
    ids=["job", "long", "hall", "small"],
)
def test_arrows_and_marks_do_not_touch(summary: JobSummary) -> None:
    drawing = draw_plan(summary)
    assert drawing is not None
    places = [each.mark_at for each in drawing.arrows] + [each.number_at for each in drawing.arrows]
    for at, one in enumerate(places):
        for two in places[at + 1 :]:
            assert max(abs(one[0] - two[0]), abs(one[1] - two[1])) >= 24
    for one, two in combinations(drawing.arrows, 2):
        (left, right), (top, bottom) = box(one)
        (other_left, other_right), (other_top, other_bottom) = box(two)
        assert left > other_right or other_left > right or top > other_bottom or other_top > bottom


def test_a_room_smaller_than_the_head_is_drawn_too() -> None:
    drawing = draw_plan(in_room(feet(1), feet(3), Corner.FAR_RIGHT, Axis.DOOR_TO_FAR))
    assert drawing is not None and drawing.start == (drawing.room[0] + drawing.room[2], MARGIN)


def test_without_an_upper_figure_or_any_the_chart_is_drawn_all_the_same() -> None:
    open_ended = reading_all(Construction.WOVEN, Figure(Fraction(1), None, from_maker=True), "2")
    assert "band at least 1 1/2 in" in render_html(open_ended)
    assert draw_chart(open_ended.pulls[0], 2.0).most == CHART_WIDTH
    none = reading_all(Construction.WOVEN, None, "2")
    assert draw_chart(none.pulls[0], 2.0).least is None
    page = Page(render_html(none))
    assert "Pulls made 18 of 18 no verdict" in page.text and "band no figure" in render_html(none)


def test_charts_are_to_scale() -> None:
    each = WHOLE.pulls[0]
    chart = draw_chart(each, 2.0)
    assert chart.least == pytest.approx(110) and chart.most == pytest.approx(165)
    assert chart.outcome == pytest.approx(float(each.percent or 0) * 110, abs=0.01)
    assert len(chart.readings) == 2
    assert draw_chart(WHOLE.pulls[5], 2.0).outcome is None


# Tables and JSON.


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("=1+1", "'=1+1"),
        ("+cmd", "'+cmd"),
        ("-2 in", "'-2 in"),
        ("@x", "'@x"),
        ("\tx", "'\tx"),
        ("\rx", "'\rx"),
        ("-2", "-2"),
        ("+1.5", "+1.5"),
        (-1 / 12_000, "-8.333333333333333e-05"),
        ("-e5", "'-e5"),
        ("1 3/4 in", "1 3/4 in"),
        (7, "7"),
        ("", ""),
    ],
)
def test_cells_are_no_formulas(value: object, shown: str) -> None:
    assert cell(value) == shown


def test_the_table_of_pulls() -> None:
    rows = list(csv.DictReader(io.StringIO(render_csv(WHOLE))))
    assert len(rows) == 18
    assert rows[0]["job"] == "0427" and rows[0]["code"] == WHOLE.code
    assert rows[0]["readings"] == "1 1/8 in, 1 5/8 in strong" and rows[0]["outcome"] == "1 9/16 in"
    assert (rows[15]["mark"], rows[15]["how"], rows[15]["percent"]) == ("short", "estimated", "0.93 %")
    assert rows[5]["remark"] == "doorway"


def test_formulas_in_a_job_are_harmless_in_the_table() -> None:
    for row in csv.reader(io.StringIO(render_csv(with_words("=HYPERLINK(1)")))):
        assert not [each for each in row if each.startswith("=")]


def test_json_is_exact() -> None:
    found = json.loads(render_json(WHOLE))
    assert found["pulls"][0]["outcome"] == {"inches": "25/16", "tape": "1 9/16 in"}
    assert found["pulls"][0]["outcome_by"] == "measured" and found["pulls"][4]["outcome_by"] == "estimated"
    assert found["room"]["width"]["inches"] == "1181/8"
    assert found["verdict"] == "short" and found["share_in_band"] == "15/17" and found["worst_pull"] == 16
    assert found["directions"][0]["figure_from"] == "default"
    assert found["conditions"]["temperature"]["quantity"] == {"unit": "F", "value": "62"}
    assert len(found["heard"]) == len(WHOLE.heard) and len(found["timeline"]) == 8


def test_written_files(tmp_path: Path) -> None:
    assert write_report(WHOLE, tmp_path / "a.html").read_text(encoding="utf-8") == PAGE
    assert write_csv(WHOLE, tmp_path / "a.csv").read_bytes().decode() == render_csv(WHOLE)
    assert write_json(WHOLE, tmp_path / "a.json").read_text(encoding="utf-8") == render_json(WHOLE)
    with pytest.raises(Refusal, match="not written") as found:
        write_report(WHOLE, tmp_path / "none" / "a.html")
    assert found.value.code is Exit.NOT_WRITABLE


# Words.


def test_durations_and_times() -> None:
    assert [duration(each) for each in (6, 200, 3840, None, -5)] == [
        "6 s",
        "3 min 20 s",
        "1 h 04 min",
        "unknown",
        "unknown",
    ]
    assert clock_time("2026-03-17T08:05:00.000+01:00") == "08:05:00" and clock_time("?") == "?"
    assert day_and_time("2026-03-17T08:05:00.000+01:00") == "2026-03-17 08:05" and day_and_time("?") == "?"


def test_cautions_are_data_with_sources() -> None:
    found = safety_cautions()
    assert {each.key for each in found} >= {"maker_first", "knees", "tail", "pins", "hearing", "asbestos", "rolls"}
    assert all(each.text and each.source for each in found)
    assert {each.vouch for each in found} <= {"published", "second hand", "common practice", "from memory"}
    for told in ("0.06 %", "6.2 %", "108 times", "3200 N", "894 N", "368 N", "90 dBA", "1980"):
        assert told in FOUND.text
