"""The questions put to an engine: tables in, plain rows out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import pyarrow as pa

from assistant.ledger.tables import jobs_of, pulls_of

Row = Mapping[str, Any]
WORST = 10
"""So many of the worst pulls are listed."""


@dataclass(frozen=True)
class Answers:
    """What a folder of jobs came to."""

    totals: Row
    groups: Mapping[str, Sequence[Row]]
    """By dimension: crew, person, carpet, month."""
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

    def rows(expression: Any) -> list[Row]:
        found: list[Row] = engine.to_pyarrow(expression).to_pylist()
        return found

    return Answers(
        totals=rows(questions.totals(jobs, practice=practice))[0],
        groups={each: rows(questions.by(each, counted, pulls)) for each in questions.DIMENSIONS},
        trends={each: rows(questions.trend(each, counted, pulls)) for each in questions.DIMENSIONS if each != "month"},
        second_look=rows(questions.second_look(jobs, counted)),
        worst=rows(questions.worst_pulls(counted, pulls, WORST)),
    )
