"""The summary of the scenario, figure by figure, and of jobs that stopped early or hold strange rows."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

import pytest

from assistant.core import events as ev
from assistant.core.band import Construction, Figure
from assistant.core.conditions import Noted
from assistant.core.layout import HeadRule
from assistant.core.length import System, feet, inches
from assistant.core.meaning import Candidate, Meaning, Quantity
from assistant.core.order import Direction
from assistant.core.room import Axis
from assistant.record import marks
from assistant.record.chain import START, Row, chained
from assistant.record.clock import ClockJump, SystemClock, clock_jumps, moment
from assistant.record.code import job_code
from assistant.record.codec import encode
from assistant.record.course import total_time
from assistant.record.glance import tiles
from assistant.record.job_file import begin_job, resume_job
from assistant.record.job_log import JobLog
from assistant.record.summary import NOT_MADE, SKIPPED, JobSummary, PullSummary, summarise
from assistant.record.telling import tell
from assistant.record.verify import verify
from tests.record import scenario
from tests.record.scenario import ScriptedClock

WHOLE = summarise(scenario.rows())


def pull(number: int, summary: JobSummary = WHOLE) -> PullSummary:
    return summary.pulls[number - 1]


def of(events: list[ev.Event]) -> JobSummary:
    return summarise(scenario.rows([(5, (each,)) for each in events]))


def texts(kind: str) -> list[str]:
    return [each.text for each in WHOLE.findings if each.kind == kind]


def numbers(kind: str) -> list[tuple[int, ...]]:
    return [each.pulls for each in WHOLE.findings if each.kind == kind]


def test_the_job() -> None:
    assert (WHOLE.job, WHOLE.finished, WHOLE.damage) == ("0427", True, "")
    assert WHOLE.code == job_code(scenario.rows())
    assert WHOLE.rows == len(scenario.rows()) and WHOLE.rows_after_code == 0
    assert WHOLE.room is not None and WHOLE.room.length == feet(16, 2) and WHOLE.room.width == feet(12, "29/8")
    assert WHOLE.construction is Construction.TUFTED_SYNTHETIC and WHOLE.lay is Axis.DOOR_TO_FAR
    assert WHOLE.order == "cross - length - cross"
    assert len(WHOLE.started) == 2 and WHOLE.programs == ("pullcall 0.1.0",)
    assert WHOLE.system is System.IMPERIAL


def test_counts_and_verdicts() -> None:
    assert len(WHOLE.pulls) == 18
    assert WHOLE.counts == {"in band": 15, SKIPPED: 1, "over": 1, "short": 1}
    assert WHOLE.mark == "short"
    assert WHOLE.share_in_band == Fraction(15, 17)
    assert WHOLE.worst is not None and WHOLE.worst.pull.number == 16
    assert marks.headline(WHOLE) == "1 pull short of the least, 1 over. 1 pull left out."


def test_directions_and_who_vouches() -> None:
    length, cross = WHOLE.directions
    assert (length.direction, length.mark, length.vouch) == (Direction.LENGTH, "in band", "default")
    assert (cross.direction, cross.mark, cross.vouch) == (Direction.CROSS, "short", "default")
    assert length.spans == (feet(16, 2), feet(16, 2)) and length.counts == {"in band": 7, SKIPPED: 1}
    moved = sum(Fraction(each, 16) for each in (33, 33, 35, 34, 34, 32, 35))
    assert length.average == moved / 7 / 194 * 100


def test_measured_and_estimated() -> None:
    first, fifth = pull(1), pull(5)
    assert first.outcome.moved == inches("25/16") and not first.estimated
    assert first.record.fall_back == inches("1/16")
    assert [each.moved for each in first.record.readings] == [inches("9/8"), inches("13/8")]
    assert first.record.readings[1].manner == "strong"
    assert fifth.estimated and fifth.outcome.moved == inches("9/4") - inches("1/16")
    assert first.percent == Fraction(25, 16) / Fraction(1181, 8) * 100
    assert first.pass_number == 1 and pull(3).pass_number == 2 and pull(11).pass_number == 3


def test_exceptions() -> None:
    assert texts("short") == ["1 3/8 in estimated, at least 1 1/2 in asked"] and numbers("short") == [(16,)]
    assert texts("over") == ["2 3/8 in estimated, at most 2 3/16 in asked"] and numbers("over") == [(14,)]
    assert texts("skipped") == ["left out: doorway"] and numbers("skipped") == [(6,)]
    assert numbers("head too far") == [(5,)] and "head 5 in off the wall, warned over 4 in" in texts("head too far")[0]
    assert numbers("uneven") == [(13, 14), (14, 15), (15, 16), (16, 17)]
    assert texts("note") == ["wrinkle noted"] and numbers("note") == [(5,)]
    kinds = [each.kind for each in WHOLE.findings]
    assert kinds[:2] == ["short", "over"]


def test_corrections() -> None:
    assert texts("refused") == ["“sixteen inches”: refused: side too short"]
    assert texts("misheard") == ["“[unk]”: not understood", "nothing heard"]
    assert texts("scratched") == ["reading 2 3/8 in: taken back"] and numbers("scratched") == [(7,)]
    assert texts("rejected") == ["reading 1 ft: turned down"]
    assert texts("slipped") == ["the head slipped"]
    seqs = [each.seq for each in WHOLE.findings if each.seq is not None]
    assert seqs == sorted(seqs)
    assert all(scenario.rows()[seq - 1].seq == seq for seq in seqs)


def test_conditions() -> None:
    temperature, humidity, unrolled, *rest = WHOLE.conditions
    assert temperature.noted == Noted(Quantity(Fraction(62), "F"))
    assert temperature.caution is not None and temperature.caution.source == "CRI 105 (2015) s.7.2"
    assert humidity.caution is None and humidity.state == "within"
    assert unrolled.noted == Noted() and unrolled.caution is not None
    assert [each.state for each in (temperature, unrolled, *rest)] == ["outside", "not recorded", *["not asked"] * 5]
    assert len(WHOLE.cautions) == 2


def test_timeline() -> None:
    assert [(each.what, each.seconds) for each in WHOLE.timeline] == [
        ("set-up", 72.0),
        ("pass 1", 225.0),
        ("pass 2", 505.0),
        ("pause", 900.0),
        ("pass 2", 199.0),
        ("pass 3", 710.0),
        ("stopped", 3600.0),
        ("close", 6.0),
    ]
    assert WHOLE.timeline[0].begin == "2026-03-17T08:05:00.000+01:00"
    assert WHOLE.clock_jumps == ()


def test_heard_with_what_followed() -> None:
    told = {each.said.text: each.followed for each in WHOLE.heard if each.said is not None}
    assert told["job oh four two seven"] == "job 0427"
    assert told["one and five eighths strong"] == "reading 1 5/8 in strong"
    assert told["twelve inches"] == "asked back: reading 1 ft (doubt large)"
    assert told["skip doorway"] == "skipped: doorway"
    assert told["finish job"] == "job finished"
    assert [each.followed for each in WHOLE.heard if each.said is None] == ["nothing heard"]


def test_a_confirmed_proposal_can_be_scratched_by_name() -> None:
    turns = [*scenario.set_up(), (1, (ev.Proposed(ev.JobNamed("9"), "why"), ev.Confirmed(), ev.Scratched()))]
    found = summarise(scenario.rows(turns))
    assert found.job == "0427"
    assert [each.text for each in found.findings if each.kind == "scratched"] == ["job 9: taken back"]


def test_two_scratches_go_back_two_changes() -> None:
    start = scenario.started()
    found = of([start, ev.JobNamed("1"), ev.JobNamed("2"), ev.Scratched(), ev.Scratched(), ev.Scratched()])
    assert [each.text for each in found.findings] == ["job 2: taken back", "job 1: taken back", "nothing: taken back"]
    assert found.job == ""


def test_every_length_of_job_has_a_summary() -> None:
    turns = scenario.whole()
    for count in range(0, len(turns), 3):
        found = summarise(scenario.rows(turns[:count]))
        assert not found.finished
        assert marks.headline(found).endswith("not closed.")


def test_nothing_at_all() -> None:
    found = summarise(())
    assert (found.rows, found.mark, found.share_in_band, found.worst, found.room) == (0, NOT_MADE, None, None, None)
    assert marks.headline(found) == "No pull was made: there is no plan yet. The job was not closed."


def test_a_pull_in_progress_is_not_made() -> None:
    turns = [*scenario.set_up(), *list(scenario.tie_off())[:3]]
    found = summarise(scenario.rows(turns))
    assert pull(1, found).mark == NOT_MADE and pull(1, found).record.readings
    assert "never finished" in marks.headline(found)
    assert len([each for each in found.findings if each.kind == "not made"]) == 18


def test_a_hooked_pull_whose_hold_reading_is_still_asked_is_not_made() -> None:
    turns = [*scenario.set_up(), *list(scenario.tie_off())[:5]]
    found = summarise(scenario.rows(turns))
    assert pull(1, found).record.hooked and pull(1, found).record.hold_due
    assert pull(1, found).mark == NOT_MADE and found.share_in_band is None


def reading_all(construction: Construction, figure: Figure | None, moved: str, *only: Direction) -> JobSummary:
    events = scenario.events(list(scenario.set_up()))
    chosen = dict.fromkeys(Direction) | dict.fromkeys(only or Direction, figure)
    events = [
        ev.FigureSet(each.direction, chosen[each.direction]) if isinstance(each, ev.FigureSet) else each
        for each in events
    ]
    events = [
        ev.ConstructionChosen(construction) if isinstance(each, ev.ConstructionChosen) else each for each in events
    ]
    for _ in range(18):
        events += [ev.ReadingTaken(inches(moved), ""), ev.Hooked(), ev.HoldTaken(inches(moved), "")]
    return of([*events[:-1], ev.JobFinished()])


def test_a_note_is_a_finding_even_where_the_pull_was_left_out_or_never_made() -> None:
    events = [ev.NoteMade("damage"), ev.PullSkipped("pipe"), ev.NoteMade("loose")]
    found = summarise(scenario.rows([*scenario.set_up(), (6, tuple(events))])).findings
    assert [(each.text, each.pulls) for each in found if each.kind == "note"] == [
        ("damage noted", (1,)),
        ("loose noted", (2,)),
    ]


def test_without_a_figure_there_is_no_verdict() -> None:
    found = reading_all(Construction.WOVEN, None, "2")
    assert found.mark == "no verdict" and found.share_in_band is None and found.worst is None
    assert {each.vouch for each in found.directions} == {"none"}
    assert marks.headline(found).startswith("No verdict: the maker gives no figure")


def test_the_makers_figure_governs() -> None:
    found = reading_all(Construction.WOVEN, Figure(Fraction(1, 2), None, from_maker=True), "2")
    assert found.mark == "in band" and {each.vouch for each in found.directions} == {"maker"}
    assert marks.headline(found) == "Every pull made is in band."
    assert found.worst is not None
    over = reading_all(Construction.TUFTED_SYNTHETIC, None, "4")
    assert over.mark == "over" and marks.headline(over) == "No pull is short; 18 pulls over the most."


def test_a_figure_for_one_direction_judges_that_one_only() -> None:
    """Nobody may read that the maker gives none, or that no pull is short where half of them have no verdict."""
    figure, rest = Figure(Fraction(1, 2), Fraction(3, 2), from_maker=True), " No verdict on 10 pulls: no cross figure."
    inside, beyond = (reading_all(Construction.WOVEN, figure, moved, Direction.LENGTH) for moved in ("2", "4"))
    assert marks.headline(inside) == "Every pull with a verdict is in band." + rest
    assert marks.headline(beyond) == "No pull with a verdict is short; 8 pulls over the most." + rest
    assert marks.headline(reading_all(Construction.WOVEN, figure, "1/2", Direction.LENGTH)).endswith("least." + rest)
    share = next(each for each in tiles(inside) if each.name == "In band after hooking")
    assert (share.figure, share.remark) == ("8 of 8", "100 %; 8 measured, 0 estimated")
    left_out = replace(inside, pulls=tuple(without(each) for each in inside.pulls))
    assert marks.headline(left_out) == "No pull has a verdict." + rest + " 8 pulls left out."


def without(each: PullSummary) -> PullSummary:
    """Left out, where it goes along the length."""
    gone = each.pull.direction is Direction.LENGTH
    return replace(each, record=replace(each.record, skipped="pipe"), outcome=None) if gone else each


def test_all_left_out() -> None:
    events = scenario.events(list(scenario.set_up())) + [ev.PullSkipped("furniture")] * 18
    assert marks.headline(of(events)) == "Every pull was left out. 18 pulls left out. The job was not closed."


def test_rows_that_are_no_events_are_kept_and_told() -> None:
    rows = list(scenario.rows())
    last = rows[-1]
    rows.append(chained(last.seq + 1, last.wall, last.monotonic_ms, "reading_taken", "{}", last.hash))
    found = summarise(rows)
    assert found.damage.startswith(f"row {last.seq + 1} (reading_taken): field 'moved' is missing")
    assert found.counts == WHOLE.counts
    assert found.rows_after_code == 1


@pytest.mark.parametrize("length", ["0", "-3"])
def test_an_impossible_room_ends_the_walk_without_a_traceback(length: str) -> None:
    events = scenario.events(list(scenario.set_up()))
    at = next(i for i, each in enumerate(events) if isinstance(each, ev.Confirmed))
    events[at:at] = [ev.Rejected(), ev.SidesSet(inches(length), inches(length), System.IMPERIAL)]
    events += [ev.ReadingTaken(inches(1), ""), ev.Hooked(), ev.HoldTaken(inches(1), ""), ev.PullReopened(999)]
    found = of(events)
    assert found.rows == len(events)
    assert found.damage == f"row {at + 2} (sides_set) cannot follow the rows before it"
    assert found.understood == at + 1


@pytest.mark.parametrize("event", [ev.ReadingTaken(inches(99_999), ""), ev.HoldTaken(inches(-99_999), "")])
def test_a_length_on_no_tape_ends_the_walk(event: ev.Event) -> None:
    """It would take all memory to draw: a made-up log must not stop a reviewer's machine."""
    found = of([*scenario.events(list(scenario.set_up())), event])
    assert found.damage.endswith("cannot follow the rows before it")


@pytest.mark.parametrize("held", [ev.SideSet(Axis.DOOR_TO_FAR, inches(0), System.IMPERIAL), None])
def test_an_impossible_event_behind_a_yes(held: ev.Event | None) -> None:
    order = scenario.started().order
    tiny = ev.Started("p", "m", order, HeadRule(width=inches("1/1000")))
    found = of([tiny] if held is None else [scenario.started(), ev.Proposed(held, "why"), ev.Confirmed()])
    assert "cannot follow the rows before it" in found.damage


def test_an_event_the_fold_stumbles_over_ends_the_walk(monkeypatch: pytest.MonkeyPatch) -> None:
    def stumble(state: object, event: ev.Event) -> None:
        raise IndexError(event)

    monkeypatch.setattr("assistant.record.walk.apply", stumble)
    assert of([scenario.started()]).damage == "row 1 (started) cannot follow the rows before it"


def test_damage_of_the_file_comes_first() -> None:
    assert summarise(scenario.rows(), "row 200 is missing").damage == "row 200 is missing"


def chain(*parts: tuple[str, int, str]) -> list[Row]:
    rows: list[Row] = []
    for wall, ms, kind in parts:
        rows.append(chained(len(rows) + 1, wall, ms, kind, "{}", rows[-1].hash if rows else START))
    return rows


def test_wall_clock_jumps() -> None:
    """R8: back an hour, on a day, 1970; a change of the zone alone is none."""
    rows = chain(
        ("2026-03-28T23:59:00.000+01:00", 1_000, "started"),
        ("2026-03-28T22:59:01.000+01:00", 2_000, "hooked"),
        ("2026-03-29T22:59:02.000+01:00", 3_000, "hooked"),
        ("2026-03-29T23:59:03.000+02:00", 4_000, "hooked"),
        ("1970-01-01T00:00:00.000+00:00", 10, "started"),
        ("1970-01-01T00:00:01.000+00:00", 1_010, "hooked"),
        ("once upon a time", 2_010, "hooked"),
        ("1970-01-01T00:00:03.000+00:00", 3_010, "hooked"),
    )
    found = clock_jumps(rows)
    assert [each.seq for each in clock_jumps([replace(rows[0], wall="?"), *rows[1:3]])] == [1, 3]
    assert found[0] == ClockJump(2, -3600.0)
    assert found[1] == ClockJump(3, 86400.0)
    assert [each.seq for each in found] == [2, 3, 5, 7]
    assert found[2].seconds < -1e9


def test_the_machines_clock() -> None:
    clock = SystemClock()
    found = moment(clock.wall())
    assert found is not None and found.utcoffset() is not None
    assert clock.monotonic_ms() <= clock.monotonic_ms()
    assert moment("2026-03-17T08:05:00.000") is None


def test_times_that_cannot_be_read_have_no_duration() -> None:
    rows = [replace(each, wall="?") for each in scenario.rows()]
    found = summarise(rows)
    assert [each.seconds for each in found.timeline if each.what == "stopped"] == [None]


@pytest.mark.parametrize("rebooted", [False, True])
def test_a_stop_over_which_the_clock_was_set_back_is_no_work(rebooted: bool, tmp_path: Path) -> None:
    """The note of the jump stands in front of the new session, and is no part of the old one."""
    clock, turns = ScriptedClock(), scenario.whole()
    log = JobLog(begin_job(tmp_path / "a.job", clock), clock, print)
    for seconds, events in turns[:20]:
        clock.pass_by(seconds)
        log.append([encode(each) for each in events])
    log.close()
    before = summarise(log.history()).timeline
    clock.pass_by(7200)
    clock.now -= timedelta(hours=3)
    clock.ms = 1_000 if rebooted else clock.ms
    log = JobLog(resume_job(tmp_path / "a.job", clock), clock, print)
    log.append([encode(scenario.started())])
    log.close()
    assert [each.kind for each in log.history()[-2:]] == ["clock_jumped", "started"]
    found = summarise(log.history()).timeline
    assert found[:-1] == before
    assert (found[-1].what, found[-1].seconds) == ("stopped", None)
    assert total_time(found) == f"{total_time(before)}; unknown time more between sessions"
    gaps = verify(tmp_path / "a.job").audit.gaps
    assert [each for each in gaps if not each.stopped] == []


ONE, OTHER = (Candidate(f"{each} millimetres", Meaning("reading")) for each in ("fifteen", "fifty"))
TOLD = [
    (ev.SideSet(Axis.DOOR_TO_FAR, feet(3), System.IMPERIAL), "side door to far: 3 ft"),
    (ev.SkipAsked(), "skip asked"),
    (ev.PullReopened(4), "pull 4 again"),
    (ev.VoiceChanged("louder"), "voice louder"),
    (ev.Unknown("new", "{}"), "unknown kind 'new', kept"),
    (ev.Missed("help"), "help"),
    (ev.Offered((ONE, OTHER), "alike"), "asked which: fifteen millimetres, or fifty millimetres"),
    (ev.Chosen(2), "chosen: number 2"),
    (ev.Chosen(0), "chosen: neither"),
    (ev.HoldTaken(None, ""), "hold reading skipped"),
    (ev.FigureSet(Direction.CROSS, Figure(Fraction(1), None, from_maker=True)), "maker's figure, cross: at least 1 %"),
    (ev.Started("p", "m", scenario.started().order), ""),
    (ev.Said("pull", "x", 1.0, "tap"), ""),
]


@pytest.mark.parametrize(("event", "told"), TOLD)
def test_events_in_words(event: ev.Event, told: str) -> None:
    assert tell(event, System.IMPERIAL) == told


def test_a_job_planned_otherwise_says_so_first() -> None:
    """Heads laid out by another version's rules are not those that were called out."""
    events = [ev.LayChosen(each.axis, "0f") if isinstance(each, ev.LayChosen) else each for each in scenario.events()]
    found = summarise(scenario.rows([(1, (each,)) for each in events])).findings
    assert (found[0].kind, "plans this room otherwise" in found[0].text) == ("other plan", True)
    assert "other plan" not in {each.kind for each in summarise(scenario.rows()).findings}


def test_every_event_of_a_row_has_its_kind() -> None:
    assert {encode(each)[0] for each in scenario.events()} == {each.kind for each in scenario.rows()}
