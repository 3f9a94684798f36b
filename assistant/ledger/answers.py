"""The questions put to an engine: tables in, plain rows out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import pyarrow as pa

from assistant.ledger.tables import jobs_of, pulls_of

Row = Mapping[str, Any]
DIMENSIONS = ("crew", "person", "carpet", "month")
"""What jobs are grouped by."""
FOLLOWED = DIMENSIONS[:-1]
"""Those that are followed month by month."""
WORST = 10
"""So many of the worst pulls are listed."""


@dataclass(frozen=True)
class Answers:
    """What a folder of jobs came to."""

    totals: Row
    groups: Mapping[str, Sequence[Row]]
    """By dimension."""
    trends: Mapping[str, Sequence[Row]] = field(default_factory=dict)
    """By dimension, month by month."""
    second_look: Sequence[Row] = ()
    worst: Sequence[Row] = ()


def embedded() -> Any:
    """The engine that runs here unless another is given: DuckDB in this process, without a file."""
    import ibis

    engine = ibis.duckdb.connect()
    # Nothing is to be fetched at run time.
    engine.raw_sql("SET autoinstall_known_extensions = false")
    engine.raw_sql("SET autoload_known_extensions = false")
    return engine


def answer(engine: Any, table: pa.Table, *, practice: bool) -> Answers:
    """All answers about the jobs of `table` (`tables.NESTED`) from `engine`, an Ibis connection."""
    import ibis

    return ask(engine, ibis.memtable(jobs_of(table)), ibis.memtable(pulls_of(table)), practice=practice)


def ask(engine: Any, jobs: Any, pulls: Any, *, practice: bool) -> Answers:
    """Likewise, of tables that are in the engine already."""
    from assistant.ledger import questions

    counted = questions.counted(jobs, practice=practice)
    asked = {"totals": questions.totals(jobs, practice=practice), **questions.all_of(jobs, counted, pulls, WORST)}
    return answers_of({name: engine.to_pyarrow(each).to_pylist() for name, each in asked.items()})


def answers_of(found: Mapping[str, Sequence[Row]]) -> Answers:
    """The rows that each question brought, by the names of `questions.all_of`."""

    def named(start: str) -> dict[str, Sequence[Row]]:
        return {name.removeprefix(start): rows for name, rows in found.items() if name.startswith(start)}

    return Answers(found["totals"][0], named("by "), named("trend by "), found["second look"], found["worst pulls"])
