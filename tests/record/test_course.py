"""What the report draws and counts beside the verdicts: histories, neighbours, hooking, bites, time, hearing, tiles."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core import events as ev
from assistant.core import trade
from assistant.core.band import Construction, Figure
from assistant.core.length import inches
from assistant.core.meaning import Candidate, Meaning
from assistant.core.neighbours import jumps, neighbours
from assistant.core.order import Direction
from assistant.record.course import evenness, hearing, hooking, total_time
from assistant.record.findings import of_jumps
from assistant.record.glance import Tile, tiles
from assistant.record.history import Moment
from assistant.record.pull_charts import A_ROW, COLUMN, TOP, bar_charts, stretch_charts
from assistant.record.report import render_html, render_sheet
from assistant.record.summary import JobSummary, PullSummary, summarise
from assistant.record.tally import Tally, tally
from assistant.record.time_strip import WIDTH, time_strip
from assistant.record.timeline import Stretch
from assistant.record.view import view
from assistant.record.vouched import vouched
from assistant.record.walk import walk
from tests.record import scenario
from tests.record.scenario import Turn
from tests.record.test_summary import reading_all

WHOLE = summarise(scenario.rows())


def pulling(*turns: Turn) -> JobSummary:
    """The scenario up to its first pull, and then these."""
    return summarise(scenario.rows([*scenario.set_up(), *turns]))


def said(text: str, *events: ev.Event, by: str = "voice") -> Turn:
    return 6, (ev.Said("pull", text, 0.9, by), *events)


# Histories.


def told(moments: Sequence[Moment]) -> list[tuple[str, str]]:
    return [(each.heard, each.told) for each in moments]


def test_the_history_of_a_pull_is_word_for_word() -> None:
    assert told(WHOLE.histories[7]) == [
        ("two and three eighths", "reading 2 3/8 in"),
        ("scratch that", "scratched: reading 2 3/8 in"),
        ("two and three sixteenths", "reading 2 3/16 in"),
        ("hooked", "hooked"),
    ]
    assert [each.row.seq for each in WHOLE.histories[7]] == sorted(each.row.seq for each in WHOLE.histories[7])
    assert ("twelve inches", "asked back: reading 1 ft (doubt large)") in told(WHOLE.histories[8])
    assert ("no", "rejected: reading 1 ft") in told(WHOLE.histories[8])


def test_a_hold_taken_back_belongs_to_its_own_pull() -> None:
    """By then the next pull is at hand."""
    found = pulling(
        said("one and five eighths", ev.ReadingTaken(inches("13/8"), "")),
        said("hooked", ev.Hooked(True)),
        said("one and a half", ev.HoldTaken(inches("3/2"), "")),
        said("scratch that", ev.Scratched()),
        said("one and nine sixteenths", ev.HoldTaken(inches("25/16"), "")),
        said("one", ev.ReadingTaken(inches(1), "")),
        said("go back", ev.PullReopened(1)),
    )
    assert told(found.histories[1])[2:] == [
        ("one and a half", "hold reading 1 1/2 in"),
        ("scratch that", "scratched: hold reading 1 1/2 in"),
        ("one and nine sixteenths", "hold reading 1 9/16 in"),
        ("go back", "pull 1 again"),
    ]
    assert told(found.histories[2]) == [("one", "reading 1 in")]
    scratched = next(each for each in found.findings if each.kind == "scratched")
    assert scratched.pulls == (1,)


def test_a_note_told_of_the_pull_before_stands_there_and_so_does_its_scratching() -> None:
    """At the question whether pull 1 is made again pull 2 is at hand."""
    found = pulling(
        said("one and five eighths", ev.ReadingTaken(inches("13/8"), "")),
        said("hooked", ev.Hooked(True)),
        said("one and a quarter", ev.HoldTaken(inches("5/4"), ""), ev.Proposed(ev.PullReopened(1), "pull_again")),
        said("note wrinkle", ev.NoteMade("wrinkle", 1)),
        said("scratch that", ev.Scratched(), ev.Proposed(ev.PullReopened(1), "pull_again")),
        said("note loose", ev.NoteMade("loose", 1)),
        said("no", ev.Rejected()),
    )
    asked = ("", "asked back: pull 1 again (pull again)")
    assert told(found.histories[1])[3:] == [
        asked,
        ("note wrinkle", "note: wrinkle"),
        ("scratch that", "scratched: note: wrinkle"),
        asked,
        ("note loose", "note: loose"),
        ("no", "rejected: pull 1 again"),
    ]
    assert [each.pulls for each in found.findings if each.kind in ("note", "scratched", "rejected")] == [(1,)] * 3


def test_a_pull_made_again_after_a_yes_tells_it_as_after_go_back() -> None:
    """The question comes when the next pull is at hand: what is said to it is no story of that one."""
    found = pulling(
        said("one and five eighths", ev.ReadingTaken(inches("13/8"), "")),
        said("hooked", ev.Hooked(True)),
        said("one and a quarter", ev.HoldTaken(inches("5/4"), ""), ev.Proposed(ev.PullReopened(1), "pull_again")),
        said("yes", ev.Confirmed()),
        said("one and three quarters", ev.ReadingTaken(inches("7/4"), "")),
    )
    assert told(found.histories[1])[2:] == [
        ("one and a quarter", "hold reading 1 1/4 in"),
        ("", "asked back: pull 1 again (pull again)"),
        ("yes", "confirmed"),
        ("one and three quarters", "reading 1 3/4 in"),
    ]
    assert 2 not in found.histories
    assert [(each.text, each.pulls) for each in found.findings if each.kind == "reopened"] == [("pull 1 again", (1,))]


def test_a_pull_never_come_to_has_none_and_says_so() -> None:
    found = pulling()
    assert 5 not in found.histories and "Nothing was said at this pull." in render_html(found)


# Neighbours.


def altered(each: PullSummary, sixteenths: int, place: int) -> PullSummary:
    """With another outcome, in another place along one of two walls of its side."""
    outcome = each.outcome and replace(each.outcome, moved=inches(Fraction(sixteenths, 16)))
    wall = each.pull.wall_number + 4 * (place % 2)
    pull = replace(each.pull, position=inches(18 * (place // 2)), wall_number=wall)
    return replace(each, outcome=outcome, pull=pull)


@given(st.lists(st.integers(0, 44), min_size=18, max_size=18), st.permutations(range(18)))
def test_uneven_neighbours_are_those_the_job_was_warned_of(sixteenths: list[int], places: list[int]) -> None:
    """What the charts join by a thick line is what `core.neighbours.jumps`, which the session speaks from, finds."""
    pulls = tuple(map(altered, WHOLE.pulls, sixteenths, places))
    drawn = evenness(replace(WHOLE, pulls=pulls))["directions"]
    thick = [link.uneven for each in drawn for chart in each["charts"] for link in chart.links if link.uneven]
    uneven = jumps([(each.pull, each.outcome) for each in pulls])
    found = [each.text.split()[0] for each in of_jumps(uneven)]
    assert sorted(thick) == sorted(found), "as among the exceptions"
    assert all(each.first.wall_number == each.second.wall_number for each in uneven)
    assert sum(each["uneven"] for each in drawn) == len(uneven)


def test_the_widest_pair_is_named() -> None:
    length, cross = evenness(WHOLE)["directions"]
    assert (cross["widest"], cross["uneven"], cross["pairs"]) == ("0.47 points, between pulls 13 and 14", 4, 9)
    assert length["uneven"] == 0 and length["pairs"] == 5  # the doorway breaks the line
    assert evenness(pulling())["directions"][0]["widest"] == "no two neighbours were made"
    assert evenness(WHOLE)["vouch"] == "design choice"


# Charts.


def test_however_far_the_figures_lie_the_lines_across_are_few() -> None:
    """A thousand feet at a pull of eight: a line for every 25 per cent made a chart of five hundred."""
    far = [altered(each, 16 * 12 * 1000, 0) for each in WHOLE.pulls[:1]]
    (chart,) = stretch_charts(far, (), None)
    assert 2 <= len(chart.levels) <= 8


def test_a_long_line_stands_in_rows_of_one_scale() -> None:
    line = [replace(WHOLE.pulls[0], pull=replace(WHOLE.pulls[0].pull, number=number)) for number in range(1, 48)]
    charts = stretch_charts(line, (), WHOLE.directions[0].figure)
    assert [len(each.spots) for each in charts] == [A_ROW, A_ROW, 7]
    assert len({each.levels for each in charts}) == 1
    assert [each.number for chart in charts for each in chart.spots] == list(range(1, 48))
    assert charts[0].width > charts[2].width >= 10 * COLUMN


def of_length(summary: JobSummary) -> list[PullSummary]:
    return [each for each in summary.pulls if each.pull.direction is Direction.LENGTH]


def test_without_figure_or_upper_figure() -> None:
    none = reading_all(Construction.WOVEN, None, "2")
    charts = stretch_charts(of_length(none), (), None)
    assert [each.band for each in charts] == [None]
    open_ended = Figure(Fraction(1), None, from_maker=True)
    assert stretch_charts(of_length(WHOLE), (), open_ended)[0].band[0] == TOP  # type: ignore[index]
    bare = pulling()
    assert stretch_charts(bare.pulls, (), None) == () and evenness(bare)["directions"][0]["charts"]


@given(st.lists(st.fractions(0, 9, max_denominator=64), min_size=1, max_size=30))
def test_everything_lies_inside_its_chart(shares: list[Fraction]) -> None:
    one = WHOLE.pulls[0]
    assert one.outcome is not None
    line = [
        replace(
            one, outcome=replace(one.outcome, moved=one.pull.span * (share / 100)), pull=replace(one.pull, number=n)
        )
        for n, share in enumerate(shares, start=1)
    ]
    pairs = neighbours([(each.pull, each.outcome) for each in line])
    for chart in stretch_charts(line, pairs, WHOLE.directions[1].figure):
        for spot in chart.spots:
            assert 0 < spot.x < chart.right
            assert all(TOP <= y <= chart.bottom for y in (spot.reading, spot.outcome) if y is not None)
        assert 2 <= len(chart.levels) <= 8


def test_columns_begin_at_nothing() -> None:
    (bites,) = bar_charts(WHOLE.pulls, lambda each: float(len(each.record.readings)) or None, lambda _: "", 1)
    assert [each.text for each in bites.levels] == ["0", "1", "2"] and bites.levels[0].y == bites.bottom
    assert bites.bars[5].top is None and bites.bars[0].top == bites.levels[2].y
    assert bar_charts(WHOLE.pulls, lambda _: None, lambda _: "", 1) == ()


# Hooking and bites.


def losses_of(way: Direction) -> list[Fraction]:
    """Per cent of the span."""
    own = [each for each in WHOLE.pulls if each.pull.direction is way]
    return [each.record.fall_back.per(each.pull.span) * 100 for each in own if each.record.fall_back is not None]


def test_what_hooking_lost_by_pass() -> None:
    found = hooking(WHOLE)
    losses = [each.record.fall_back for each in WHOLE.pulls if each.record.fall_back is not None]
    assert found["measured"] == len(losses) == 8
    shares = {way: losses_of(way) for way in Direction}
    usual = {way: median(found) for way, found in shares.items()}
    assert {each.direction: each.lost.usual for each in WHOLE.directions if each.lost is not None} == usual
    assert WHOLE.lost is not None and WHOLE.lost.usual == median([*shares[Direction.LENGTH], *shares[Direction.CROSS]])
    assert found["usual"] == ["length 0.03 %, at most 0.06 %", "cross 0.04 %, at most 0.04 %"]
    assert [each["lost"] for each in found["passes"]] == [
        "3/32 in (1/16 in to 1/8 in)",
        "1/16 in (1/16 in to 1/8 in)",
        "1/16 in",
    ]
    assert [each["made"] for each in found["passes"]] == ["2 of 2", "7 of 8", "8 of 8"]
    assert [each["bites"] for each in found["passes"]] == ["1.5", "1.3", "1"]  # 3 of 2, 9 of 7, 8 of 8
    assert [each["most"] for each in found["passes"]] == ["2, pull 1", "2, pull 3", "1, pull 11"]
    assert [each["begun_anew"] for each in found["passes"]] == ["0", "1", "0"]


def test_nothing_measured_is_told() -> None:
    page = render_html(pulling())
    assert "What hooking lost was not measured in this room." in page and "not measured</td>" in page


# Time.


def stretch(what: str, seconds: float | None) -> Stretch:
    return Stretch(what, "", "", seconds)


def test_the_strip_is_to_scale_but_for_stops() -> None:
    found = time_strip(
        [stretch("set-up", 60), stretch("pass 1", 240), stretch("stopped", 90_000), stretch("pause", 300)]
    )
    assert [each.kind for each in found] == ["work", "work", "stopped", "pause"]
    assert found[1].width == pytest.approx(4 * found[0].width, abs=0.05)
    assert found[3].width == pytest.approx(5 * found[0].width, abs=0.05)
    assert found[2].width < found[0].width
    assert found[-1].x + found[-1].width == pytest.approx(WIDTH, abs=0.05)
    for one, two in pairwise(found):
        assert one.x + one.width == pytest.approx(two.x, abs=0.02)
    assert [each.label for each in found] == ["set-up", "pass 1", "", "pause"]


def test_a_moment_can_still_be_seen_and_unknown_time_is_none() -> None:
    found = time_strip([stretch("set-up", 1), stretch("pass 1", 100_000), stretch("pause", None)])
    assert [each.what for each in found] == ["set-up", "pass 1"] and found[0].width > 2
    assert time_strip(()) == ()


def test_the_total_time() -> None:
    spans = [stretch("set-up", 60), stretch("pass 1", 240), stretch("pause", 300), stretch("stopped", 7200)]
    assert total_time(spans) == "10 min 00 s, 5 min 00 s of it paused; 2 h 00 min more between sessions"
    assert total_time(spans[:2]) == "5 min 00 s"
    unknown = stretch("stopped", None)
    assert total_time([*spans, unknown]).endswith("; at least 2 h 00 min more between sessions")
    assert total_time([*spans[:2], unknown]) == "5 min 00 s; unknown time more between sessions"


# Hearing.


def test_how_often_it_was_wrong() -> None:
    """Counted by hand in tests/record/scenario.py."""
    assert WHOLE.tally == Tally(74, 1, 1, not_understood=1, offered=0, turned_down=1, taken_back=1, refused=1)
    assert WHOLE.tally.doubtful == 4 and WHOLE.tally.share == Fraction(4, 74)
    assert hearing(WHOLE.tally)["share"] == "5.4 %"


def test_an_utterance_counts_once_and_taps_not_at_all() -> None:
    """The figure that was doubted, confirmed and then scratched stands for itself; the 'yes' and the scratch do not."""
    doubted = ev.Proposed(ev.ReadingTaken(inches(12), ""), "doubt_large")
    rows = scenario.rows(
        [
            *scenario.set_up(),
            said("twelve", doubted),
            said("yes", ev.Confirmed()),
            said("scratch that", ev.Scratched()),
            said("one", ev.ReadingTaken(inches(1), ""), by="tap"),
            said("scratch that", ev.Scratched()),
            said("[unk]", ev.Missed("nomatch")),
            (20, (ev.Missed("noinput"),)),
            said("fifteen millimetres", ev.Offered((Candidate("fifteen millimetres", Meaning("reading")),), "alike")),
            said("neither", ev.Chosen(0)),
        ]
    )
    found, before = tally(walk(rows).steps), tally(walk(scenario.rows(list(scenario.set_up()))).steps)
    assert (found.taken_back - before.taken_back, found.not_understood, found.turned_down) == (1, 1, 0)
    assert found.offered == 1
    assert (found.spoken - before.spoken, found.tapped, found.silent) == (7, 1, 1)


def test_nobody_spoke() -> None:
    assert tally(()) == Tally(0, 0, 0, 0, 0, 0, 0, 0) and tally(()).share is None
    assert "Nothing was spoken." in render_html(summarise(()))


# The top.


def tile(name: str, summary: JobSummary) -> Tile:
    return next(each for each in tiles(summary) if each.name == name)


def test_the_tiles() -> None:
    assert [each.name for each in tiles(WHOLE)] == [
        *("Length", "Cross", "In band after hooking", "Worst: pull 16", "Left out", "Conditions"),
    ]
    worst = tile("Worst: pull 16", WHOLE)
    assert worst.remark == "short by 0.07 points, estimated; to the right wall"
    assert tile("Length", WHOLE).remark == "average 1.09 %, asked 1 to 1.5 % (default, no maker's figure given)"


def test_what_was_left_out_is_named_and_counted() -> None:
    skips = [said("skip pipe", ev.PullSkipped("pipe")) for _ in range(5)]
    found = tile("Left out", pulling(*skips))
    assert found.figure == "5 pulls"
    assert found.remark == "pull 1: pipe; pull 2: pipe; pull 3: pipe; 2 more; 13 never finished"
    made = reading_all(Construction.TUFTED_SYNTHETIC, None, "2")
    assert tile("Left out", made) == Tile("Left out", "none", "every pull of the plan was made")
    without_plan = summarise(scenario.rows(scenario.whole()[:3]))
    assert tile("Left out", without_plan) == Tile("Left out", "none", "there is no plan yet")


def test_conditions_in_a_word() -> None:
    assert tile("Conditions", WHOLE).figure == "1 outside"
    without = [each for each in scenario.whole() if not any(isinstance(e, ev.ConditionNoted) for e in each[1])]
    assert tile("Conditions", summarise(scenario.rows(without))) == Tile("Conditions", "not recorded", "none was told")


# Crew, person, and who vouches.


def test_crew_and_person_stand_in_report_and_sheet() -> None:
    started = replace(scenario.started(), crew="North & Co", person="A. Fitter")
    found = summarise(scenario.rows([(0, (started,)), *scenario.whole()[1:]]))
    assert view(found)["worked"] == "crew North & Co, A. Fitter"
    for page in (render_html(found), render_sheet(found)):
        assert "North &amp; Co" in page and "A. Fitter" in page
    for name in ("Crew", "Person"):
        assert f"<dt>{name}</dt><dd>not recorded</dd>" in render_html(WHOLE)
    for name in ("Crew", "Installer"):
        assert f'<dt>{name}</dt><dd><span class="blank">not recorded</span></dd>' in render_sheet(WHOLE)


def test_who_vouches_for_each_figure() -> None:
    rows = {each.name: each for each in vouched(WHOLE)}
    assert rows["length: stretch"].vouch == "default, no maker's figure given"
    assert trade.LEAST_STRETCH.source in rows["length: stretch"].source
    assert rows["neighbours: no further apart than"].vouch == "design choice"
    assert rows["head off the wall: warned over"].vouch == "common practice, no source"
    maker = reading_all(Construction.WOVEN, Figure(Fraction(1), None, from_maker=True), "2")
    assert {each.vouch for each in vouched(maker)} >= {"the carpet maker"}
    none = reading_all(Construction.WOVEN, None, "2")
    assert {(each.figure, each.vouch) for each in vouched(none)} >= {("none", "nobody")}
    patterned = [*scenario.whole()[:3], (1, (ev.PatternSet(Direction.LENGTH, Fraction(1, 4)),)), *scenario.whole()[3:]]
    found = {each.name: each.figure for each in vouched(summarise(scenario.rows(patterned)))}
    assert found["length: on top"] == "0.25 % for the pattern"
