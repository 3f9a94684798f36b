"""The answers by hand, and the same answers from every engine that is at hand."""

import math
import os
import shutil
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import ibis
import pyarrow as pa
import pytest

from assistant.ledger.answers import Answers
from assistant.ledger.asked import answered
from assistant.ledger.facts import JobFacts, PullFacts
from assistant.ledger.kept import write_table
from assistant.ledger.questions import ask, flat
from assistant.ledger.tables import jobs_of, nested, pulls_of
from assistant.ledger.worker import read_one
from assistant.ledger.written import PATH, put_by_ibis, statements, written_out
from tests.ledger.yard import write_jobs


def job(file: str, **changed: Any) -> JobFacts:
    plain: dict[str, Any] = {
        "file": file,
        "state": "closed",
        "trouble": "",
        "job": "1",
        "practice": False,
        "crew": "North",
        "person": "Ann",
        "carpet": "tufted synthetic, default figure",
        "begun": "2026-03-17T08:00",
        "month": "2026-03",
        "carried_from": "",
        "rows": 200,
        "pull_count": 10,
        "short": 0,
        "in_band": 10,
        "over": 0,
        "unjudged": 0,
        "skipped": 0,
        "not_made": 0,
        "mark": "in band",
        "share_in_band": 1.0,
        "worst_pull": 1,
        "worst_margin": 0.1,
        "average_length": 1.2,
        "average_cross": 1.2,
        "fall_back": 0.1,
        "bites": 4.0,
    }
    return JobFacts(**{**plain, **changed})


def pull(number: int, mark: str = "in band", **changed: Any) -> PullFacts:
    plain: dict[str, Any] = {
        "number": number,
        "pass_number": 1,
        "direction": "length",
        "span_in": 120.0,
        "mark": mark,
        "percent": 1.2,
        "measured": True,
        "margin": 0.2,
        "fall_back": 0.1,
        "bites": 4,
        "skipped": None,
        "notes": 0,
    }
    return PullFacts(**{**plain, **changed})


def answer(engine: Any, table: pa.Table, *, practice: bool) -> Answers:
    """Of tables that are not in the engine yet."""
    return ask(engine, ibis.memtable(jobs_of(table)), ibis.memtable(pulls_of(table)), practice=practice)


def asked(*entries: tuple[JobFacts, tuple[PullFacts, ...]], practice: bool = False) -> Answers:
    """From Ibis on DuckDB, and the same from the SQL that was written out."""
    table = nested([("", each) for each in entries])
    found = answer(ibis.duckdb.connect(), table, practice=practice)
    assert answered(table, practice=practice) == found
    return found


def test_shares_bites_and_the_worst_by_crew() -> None:
    short = pull(2, "short", margin=-0.3, percent=0.7, bites=6, fall_back=None)
    left_out = pull(3, "skipped", percent=None, margin=None, fall_back=None, bites=1, skipped="doorway", measured=None)
    none = pull(4, "no verdict", margin=None, fall_back=0.3)
    found = asked(
        (job("a", crew="North"), (pull(1), short, left_out)),
        (job("b", crew="North", month="2026-04"), (pull(1), none)),
        (job("c", crew="South"), (pull(1, "over", margin=-0.1, percent=1.6),)),
        (job("d", crew="West"), (none,)),
        (job("e", crew="Yard"), ()),
    )
    north, south, west, yard = found.groups["crew"]
    none_of = ("judged", "in_band", "short", "over", "skipped")
    assert (yard["crew"], yard["jobs"], yard["pulls"]) == ("Yard", 1, 0), "left before it had a plan"
    assert [yard[each] for each in none_of] == [0] * 5 and yard["share_in_band"] is yard["bites"] is None
    assert sum(each["jobs"] for each in found.groups["crew"]) == found.totals["counted"]
    assert (west["crew"], west["judged"], west["share_in_band"], west["worst_margin"]) == ("West", 0, None, None)
    assert (north["crew"], north["jobs"], north["pulls"], north["judged"]) == ("North", 2, 5, 3)
    assert (north["in_band"], north["short"], north["over"], north["skipped"]) == (2, 1, 0, 1)
    assert north["share_in_band"] == pytest.approx(2 / 3) and north["worst_margin"] == -0.3
    assert north["bites"] == pytest.approx((4 + 6 + 4 + 4) / 4) and north["fall_back"] == pytest.approx(0.5 / 3)
    assert (south["share_in_band"], south["over"], south["worst_margin"]) == (0.0, 1, -0.1)
    months = [(each["crew"], each["month"], each["share_in_band"]) for each in found.trends["crew"]]
    assert months[:3] == [("North", "2026-03", 0.5), ("North", "2026-04", 1.0), ("South", "2026-03", 0.0)]
    worst = [(each["file"], each["number"], each["mark"], each["margin"]) for each in found.worst]
    assert worst == [("a", 2, "short", -0.3), ("c", 1, "over", -0.1)]


def test_the_worst_of_a_crew_is_that_of_its_worst_job() -> None:
    """A pull short by little is worse than one over by much, in the line of the job as in that of its crew."""
    over, short = pull(1, "over", margin=-0.5), pull(2, "short", margin=-0.1)
    found = asked((job("a", worst_pull=2, worst_margin=-0.1), (over, short)), (job("b", crew="South"), (over, pull(2))))
    assert [each["worst_margin"] for each in found.groups["crew"]] == [-0.1, -0.5]
    assert [(each["file"], each["mark"]) for each in found.worst] == [("a", "short"), ("a", "over"), ("b", "over")]


def test_what_is_not_sound_or_practice_stays_out_of_the_averages() -> None:
    bad = pull(1, "short", margin=-0.9, percent=0.1)
    entries = [
        (job("a"), (pull(1),)),
        (job("b", state="damaged", trouble="row 5 is missing", rows=4, short=1), (bad,)),
        (job("c", state="newer", trouble="written by a newer pullcall", rows=0), (bad,)),
        (job("d", practice=True), (bad,)),
        (job("e", state="not closed"), (pull(1),)),
    ]
    found = asked(*entries)
    assert found.totals == {"files": 5, "counted": 2, "practice": 1, "twice": 0, "unread": 2, "not_closed": 1}
    assert [each["short"] for each in found.groups["crew"]] == [0] and found.worst == []
    looks = [(each["rank"], each["file"], each["reason"], each["text"], each["value"]) for each in found.second_look]
    assert looks == [(1, "b", "unread", "row 5 is missing", 4), (1, "c", "unread", "written by a newer pullcall", 0)]
    with_practice = asked(*entries, practice=True)
    assert with_practice.totals["counted"] == 3 and with_practice.groups["crew"][0]["short"] == 1


def test_calls_for_a_second_look() -> None:
    found = asked(
        (job("a", short=2), ()),
        (job("b", over=2, in_band=8), ()),
        (job("c", over=1, in_band=9), ()),
        (job("d", skipped=2), ()),
        (job("e", skipped=1), ()),
        (job("f", not_made=3), ()),
        (job("g", not_made=3, state="not closed"), ()),
        (job("h", short=5, skipped=9), ()),
    )
    looks = [(each["file"], each["reason"], each["value"]) for each in found.second_look]
    assert looks == [
        *(("h", "short", 5), ("a", "short", 2), ("f", "not_made", 3)),
        *(("b", "over", 2), ("h", "skipped", 9), ("d", "skipped", 2)),
    ]


def test_the_robust_z_by_hand() -> None:
    """Bites 1 to 11: median 6, MAD 3; 22 has z = 0.6745 * 16 / 3 = 3.597 > 3.5, 21 has 3.37."""
    regular = [(job(f"{n:02d}", bites=float(n)), ()) for n in range(1, 11)]
    for most, z in ((21.0, None), (22.0, 0.6745 * 16 / 3)):
        found = [each for each in asked(*regular, (job("x", bites=most), ())).second_look if each["reason"] == "bites"]
        if z is None:
            assert found == []
        else:
            (row,) = found
            assert (row["file"], row["value"], row["usual"], row["rank"]) == ("x", 22.0, 6.0, 6)


def test_among_a_few_jobs_or_equal_ones_none_is_unusual() -> None:
    few = [(job(f"{n}", bites=float(n)), ()) for n in range(8)]
    assert asked(*few, (job("x", bites=99.0), ())).second_look == []
    equal = [(job(f"{n:02d}", bites=4.0), ()) for n in range(20)]
    assert asked(*equal, (job("x", bites=99.0), ())).second_look == []


def test_the_questions_as_written_out_are_those_asked() -> None:
    """After a change: python -m assistant.ledger questions."""
    assert PATH.read_text(encoding="utf-8") == written_out()
    assert statements() == put_by_ibis(), "of every dimension, too"


# --- The same from other engines --------------------------------------------------------------------------------


def polars(tmp_path: Path) -> Any:
    pytest.importorskip("polars", reason="polars is not installed")
    return ibis.polars.connect()


def postgres(tmp_path: Path) -> Any:
    pytest.importorskip("psycopg", reason="psycopg is not installed (ibis-framework[postgres])")
    address = os.environ.get("PULLCALL_POSTGRES")
    if not address:
        pytest.skip("PULLCALL_POSTGRES names no PostgreSQL, as in postgres:///postgres?host=/run/postgresql")
    return ibis.connect(address)


def spark(tmp_path: Path) -> Any:
    pytest.importorskip("pyspark", reason="pyspark is not installed (ibis-framework[pyspark])")
    if shutil.which("java") is None:
        pytest.skip("Spark needs Java")
    return ibis.pyspark.connect()


def must_be_same(one: Any, other: Any, where: str) -> None:
    """Sums of floats may be taken in another order; nothing else may differ."""
    if isinstance(one, dict):
        assert one.keys() == other.keys(), where
        for key, value in one.items():
            must_be_same(value, other[key], f"{where}.{key}")
    elif isinstance(one, list):
        assert len(one) == len(other), where
        for place, (left, right) in enumerate(zip(one, other, strict=True)):
            must_be_same(left, right, f"{where}[{place}]")
    elif isinstance(one, float) and other is not None:
        assert math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9), where
    else:
        assert one == other, where


@pytest.mark.parametrize("engine", [polars, postgres, spark])
def test_another_engine_gives_the_same(engine: Callable[[Path], Any], tmp_path: Path, nightly: bool) -> None:
    if engine is spark and not nightly:
        pytest.skip("Spark takes half a minute: with --nightly")
    other = engine(tmp_path)
    entries = [read_one(str(path), path.name) for path in write_jobs(tmp_path, 24)]
    odd = [job(f"x{n:02d}", bites=99.0 - n, short=n, crew="Øst “2”", skipped=3) for n in range(3)]
    entries += [("", (each, (pull(1, "short", margin=-0.5), pull(2, "no verdict", margin=None)))) for each in odd]
    entries += [("", (job("y", state="damaged", trouble="row 9 is missing"), ())), ("", (job("z", practice=True), ()))]
    table = nested(entries)
    here = asdict(answer(ibis.duckdb.connect(), table, practice=False))
    assert here["totals"]["counted"] == 27 and {each["reason"] for each in here["second_look"]} >= {
        "unread",
        "short",
        "bites",
    }
    must_be_same(here, asdict(answer(other, table, practice=False)), engine.__name__)


@pytest.mark.parametrize("engine", [lambda _: ibis.duckdb.connect(), spark], ids=["duckdb", "spark"])
def test_the_parquet_file_is_all_an_engine_needs(
    engine: Callable[[Path], Any], tmp_path: Path, request: pytest.FixtureRequest, nightly: bool
) -> None:
    """As a company does that has its engine read the files of all its folders."""
    if "spark" in request.node.name and not nightly:
        pytest.skip("Spark takes half a minute: with --nightly")
    other = engine(tmp_path)
    table = nested([read_one(str(path), path.name) for path in write_jobs(tmp_path, 12)])
    write_table(table, tmp_path / "all.parquet")
    found = ask(other, *flat(other.read_parquet(str(tmp_path / "all.parquet"))), practice=False)
    must_be_same(asdict(answer(ibis.duckdb.connect(), table, practice=False)), asdict(found), "from the file")
