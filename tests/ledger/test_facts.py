"""The facts are those `pullcall review JOB` reports, and the swift reading gives the careful one's."""

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from assistant.cli import main
from assistant.core import events as ev
from assistant.core.floor import Opening, OpeningKind
from assistant.core.length import System, feet, inches
from assistant.core.order import Direction
from assistant.exits import Exit
from assistant.ledger.careful import careful_facts
from assistant.ledger.facts import Facts, vouch
from assistant.ledger.made import cast, retold, write_job
from assistant.ledger.swift import glanced_facts, swift_facts
from assistant.record.chain import chained
from assistant.record.reading import read_job
from assistant.record.report import render_json
from assistant.record.review import damage_of
from assistant.record.summary import JobSummary, summarise
from tests.ledger.yard import BEGUN, disturbed, talks, write_jobs
from tests.record import scenario
from tests.record.test_job_file import tamper

DISTURBED = 200


def summary_of(path: Path) -> JobSummary:
    reading = read_job(path)
    return summarise(reading.rows, damage_of(reading))


def number(text: str | None) -> float | None:
    return None if text is None else float(Fraction(text))


def length(value: dict[str, str] | None) -> float | None:
    return None if value is None else number(value["inches"])


def share(part: dict[str, str] | None, span: dict[str, str]) -> float | None:
    return None if part is None else float(100 * Fraction(part["inches"]) / Fraction(span["inches"]))


def must_agree(path: Path, found: Facts) -> None:
    """Every column beside the JSON that `pullcall review JOB` writes."""
    job, pulls = found
    told: dict[str, Any] = json.loads(render_json(summary_of(path)))
    assert (job.job, job.practice, job.rows, job.trouble) == (
        told["job"],
        told["practice"],
        told["rows"],
        told["damage"] or "",
    )
    assert job.crew == (told["crew"] or "not recorded") and job.person == (told["person"] or "not recorded")
    assert job.mark == told["verdict"] and job.worst_pull == told["worst_pull"]
    assert job.share_in_band == number(told["share_in_band"])
    assert job.fall_back == number(told["fall_back_percent"])
    counts = {"short": job.short, "in band": job.in_band, "over": job.over, "no verdict": job.unjudged}
    counts |= {"skipped": job.skipped, "not made": job.not_made}
    assert {mark: count for mark, count in counts.items() if count} == told["counts"]
    directions = {each["direction"]: each for each in told["directions"]}
    assert job.average_length == number(directions["length"]["average_percent"])
    assert job.average_cross == number(directions["cross"]["average_percent"])
    assert job.begun == told["sessions"][0] and job.begun.startswith(job.month)
    assert (job.state == "closed") == (told["finished"] and not told["damage"])
    assert job.pull_count == len(pulls) == len(told["pulls"])
    for pull, other in zip(pulls, told["pulls"], strict=True):
        assert (pull.number, pull.pass_number) == (other["number"], other["pass"])
        assert (pull.direction, pull.mark, pull.skipped) == (other["direction"], other["verdict"], other["skipped"])
        assert (pull.span_in, pull.percent) == (length(other["span"]), number(other["percent"]))
        assert pull.measured == {"measured": True, "estimated": False, None: None}[other["outcome_by"]]
        assert (pull.bites, pull.notes) == (len(other["readings"]), len(other["notes"]))
        assert pull.fall_back == share(other["fall_back"], other["span"])
    made = [each for each in pulls if each.percent is not None]
    assert job.bites == (sum(each.bites for each in made) / len(made) if made else None)
    worst = [each for each in pulls if each.number == job.worst_pull]
    assert [each.margin for each in worst] == ([job.worst_margin] if worst else [])


def test_the_facts_of_made_up_jobs(tmp_path: Path) -> None:
    for path in write_jobs(tmp_path, 12):
        swift = swift_facts(path.name, path.read_bytes())
        assert swift is not None and swift == careful_facts(path.name, path)
        assert glanced_facts(path.name, path.read_bytes()) == swift
        must_agree(path, swift)


def test_the_facts_of_the_job_by_hand(tmp_path: Path) -> None:
    """Its skipped doorway, over and short pulls, undone reading, turned-down doubt and second session."""
    path = scenario.write(tmp_path / "0427.job")
    found = careful_facts(path.name, path)
    must_agree(path, found)
    job, pulls = found
    assert (job.short, job.over, job.skipped, job.pull_count) == (1, 1, 1, len(pulls))
    assert job.carpet == "tufted synthetic, default figure" and job.month == "2026-03"
    assert pulls[15].mark == "short" and pulls[15].margin is not None and pulls[15].margin < 0
    assert swift_facts(path.name, path.read_bytes()) in (found, None)


def test_swift_and_careful_never_part_however_odd_the_log(tmp_path: Path) -> None:
    """Events thrown in, left out, undone: the swift reading gives the same or leaves it to the careful one."""
    swiftly = at_a_glance = 0
    for seed in range(DISTURBED):
        events = disturbed(talks()[seed % len(talks())], seed)
        path = write_job(tmp_path / f"{seed}.job", events, BEGUN)
        swift, careful = swift_facts(path.name, path.read_bytes()), careful_facts(path.name, path)
        assert swift in (careful, None), f"seed {seed}"
        swiftly += swift is not None
        glanced = glanced_facts(path.name, path.read_bytes())
        assert glanced in (careful, None), f"seed {seed}"
        at_a_glance += glanced is not None
        if seed % 10 == 0:
            must_agree(path, careful)
    assert DISTURBED / 4 < at_a_glance <= swiftly < DISTURBED


def test_the_swift_reading_doubts_what_is_not_sound(tmp_path: Path) -> None:
    whole = write_jobs(tmp_path, 1)[0]
    assert swift_facts("a", whole.read_bytes()) is not None
    assert swift_facts("a", b"") is swift_facts("a", b"no job at all" * 300) is None
    assert swift_facts("a", whole.read_bytes()[:9_000]) is None
    for change in (
        "UPDATE rows SET payload = payload || ' ' WHERE seq = 40",
        "UPDATE rows SET wall = '2020' WHERE seq = 7",
        "UPDATE rows SET monotonic_ms = 7.5 WHERE seq = 7",
        "UPDATE rows SET hash = upper(hash) WHERE seq = 200",
        "DELETE FROM rows WHERE seq = 60",
        "PRAGMA user_version = 2",
    ):
        path = write_jobs(tmp_path / "b", 1)[0]
        tamper(path, change)
        assert swift_facts("a", path.read_bytes()) is None, change
        path.unlink()


def test_values_no_session_writes_are_doubted_even_in_a_chain_that_fits(tmp_path: Path) -> None:
    path = write_jobs(tmp_path, 1)[0]
    *_, before, last = read_job(path).rows
    forged = chained(last.seq, last.wall, 7.5, last.kind, last.payload, before.hash)  # type: ignore[arg-type]
    tamper(path, f"UPDATE rows SET monotonic_ms = 7.5, hash = '{forged.hash}' WHERE seq = {last.seq}")
    assert swift_facts(path.name, path.read_bytes()) is None
    assert "pullcall writes no such values" in careful_facts(path.name, path)[0].trouble
    path = write_jobs(tmp_path / "b", 1)[0]
    *_, before, last = read_job(path).rows
    forged = chained(last.seq + 1, last.wall, last.monotonic_ms, last.kind, last.payload, before.hash)
    tamper(path, f"UPDATE rows SET seq = seq + 1, hash = '{forged.hash}' WHERE seq = {last.seq}")
    assert swift_facts(path.name, path.read_bytes()) is None
    assert careful_facts(path.name, path)[0].trouble == f"row {last.seq} is missing"


def test_a_room_that_is_not_plain_is_folded_swiftly(tmp_path: Path) -> None:
    """With a doorway its pulls are the plan's; only the replay is short."""
    events = list(retold(talks()[0], cast(0, 0), 0))
    corner = next(at for at, each in enumerate(events) if isinstance(each, ev.CornerChosen))
    events.insert(corner, ev.OpeningSet(Opening(OpeningKind.DOORWAY, 1, feet(3), feet(5)), System.IMPERIAL, "left"))
    path = write_job(tmp_path / "door.job", events, BEGUN)
    assert glanced_facts(path.name, path.read_bytes()) is None
    swift = swift_facts(path.name, path.read_bytes())
    assert swift is not None and swift == careful_facts(path.name, path)


def test_a_log_that_was_never_planned_is_left_to_others(tmp_path: Path) -> None:
    path = write_job(tmp_path / "begun.job", talks()[0][:5], BEGUN)
    assert glanced_facts(path.name, path.read_bytes()) is None
    assert swift_facts(path.name, path.read_bytes()) == careful_facts(path.name, path)


HALVES = (ev.ReadingTaken(inches("1/2"), ""), ev.ReadingTaken(inches("33/64"), ""), ev.ReadingTaken(inches("1/3"), ""))


@pytest.mark.parametrize("odd", HALVES, ids=["on the tape", "between its marks", "on no tape"])
@pytest.mark.parametrize("estimated", [False, True])
def test_readings_on_no_tape_are_reckoned_exactly_or_not_at_all(tmp_path: Path, odd: ev.Event, estimated: bool) -> None:
    events = list(retold(talks()[0], cast(0, 0), 0))
    hooked = next(at for at, each in enumerate(events) if isinstance(each, ev.Hooked) and each.measure)
    events.insert(hooked, odd)
    if estimated:
        events[hooked + 1] = ev.Hooked(False)
        del events[next(at for at, each in enumerate(events) if at > hooked and isinstance(each, ev.HoldTaken))]
    path = write_job(tmp_path / "odd.job", events, BEGUN)
    found, careful = glanced_facts(path.name, path.read_bytes()), careful_facts(path.name, path)
    assert found in (careful, None) and (found is None) == (odd is HALVES[2])
    assert careful[1][0].measured is not estimated


@pytest.mark.parametrize(
    "odd",
    [
        ("said", '{"ask":"pull","by":"tap","score":1.0,"text":7}'),
        ("said", '{"ask":"pull","by":"tap","score":1.0}'),
        ("said", "[" * 5000),
        ("missed", "{"),
        ("reading_taken", '{"manner":"","moved":"much"}'),
    ],
)
def test_a_row_that_is_no_event_is_trouble_in_both(tmp_path: Path, odd: tuple[str, str]) -> None:
    events = list(retold(talks()[0], cast(0, 0), 0))
    events.insert(60, ev.Unknown(*odd))
    path = write_job(tmp_path / "odd.job", events, BEGUN)
    job = careful_facts(path.name, path)[0]
    assert job.state == "damaged" and job.trouble.startswith("row 61")
    assert swift_facts(path.name, path.read_bytes()) is None


@pytest.mark.parametrize(
    ("kind", "payload", "state"),
    [
        ("hold_taken", '{{"manner":"","moved":"{}"}}', "damaged"),
        ("head_set", '{{"distance":"-{}"}}', "damaged"),
        ("figure_set", '{{"direction":"cross","figure":{{"from_maker":true,"least":"{}","most":null}}}}', "unreadable"),
    ],
)
@pytest.mark.parametrize("noted", [False, True])
def test_figures_beyond_any_tape(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], kind: str, payload: str, state: str, noted: bool
) -> None:
    """Read swiftly, folded up to the plan (`noted`: by a note of another pull) or with care."""
    events = [*retold(talks()[0], cast(0, 0), 0)]
    first = ev.LayChosen if kind == "figure_set" else ev.Hooked
    at = next(at for at, each in enumerate(events) if isinstance(each, first))
    events[at:at] = [ev.Unknown(kind, payload.format("9" * 400))]
    path = write_job(tmp_path / "far.job", [*events, *([ev.NoteMade("seam", 1)] if noted else [])], BEGUN)
    assert swift_facts(path.name, path.read_bytes()) is None
    assert careful_facts(path.name, path)[0].state == state
    assert main(["review", str(path)]) == (Exit.FINDINGS if state == "damaged" else Exit.BAD_JOB)
    out, err = capsys.readouterr()
    assert "cannot follow the rows before it" in out if state == "damaged" else "beyond any tape" in err


def test_several_crews_stand_together(tmp_path: Path) -> None:
    first, *others = talks()[0]
    assert isinstance(first, ev.Started)
    sessions = [replace(first, crew=crew, person="Ann") for crew in ("South", "North", "South", "")]
    path = write_job(tmp_path / "two.job", [sessions[0], *others, *sessions[1:]], BEGUN)
    job = careful_facts(path.name, path)[0]
    assert (job.crew, job.person) == ("North + South", "Ann"), "whoever began: by crew it is one line"
    must_agree(path, careful_facts(path.name, path))


def test_whose_figure() -> None:
    from assistant.core.band import DEFAULT_FIGURE

    assert vouch(None) == "no figure" and vouch(DEFAULT_FIGURE) == "default figure"
    assert vouch(replace(DEFAULT_FIGURE, from_maker=True)) == "maker's figure"


def test_the_columns_have_plain_values(tmp_path: Path) -> None:
    job, pulls = careful_facts("a", write_jobs(tmp_path, 1)[0])
    plain = (str, int, float, bool, type(None))
    assert all(isinstance(each, plain) for each in (*job, *pulls[0]))
    assert {each.direction for each in pulls} == {each.value for each in Direction}
