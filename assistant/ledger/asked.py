"""The questions put to DuckDB in this process: what `pullcall review FOLDER` shows."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import duckdb

from assistant.ledger.answers import Answers, Row, answers_of
from assistant.ledger.tables import jobs_of, pulls_of
from assistant.ledger.written import PRACTICE, statements

if TYPE_CHECKING:
    import pyarrow as pa

_SETTINGS = {"autoinstall_known_extensions": False, "autoload_known_extensions": False}
"""Nothing is to be fetched at run time."""


def answered(table: "pa.Table", *, practice: bool) -> Answers:
    """All answers about the jobs of `table` (`tables.NESTED`)."""
    end = PRACTICE if practice else ""
    asked: Mapping[str, str] = statements()
    with duckdb.connect(config=dict(_SETTINGS)) as base:
        for name, part in (("jobs", jobs_of(table)), ("pulls", pulls_of(table))):
            base.register(f"{name}_read", part)
            base.execute(f"CREATE TABLE {name} AS SELECT * FROM {name}_read")
        base.execute(f"CREATE TABLE counted AS {asked[f'counted{end}']}")
        put = {name: sql for name, sql in asked.items() if not name.startswith(("counted", "totals"))}
        put["totals"] = asked[f"totals{end}"]
        return answers_of({name: _rows(base.execute(sql)) for name, sql in put.items()})


def _rows(found: duckdb.DuckDBPyConnection) -> list[Row]:
    names = [each[0] for each in found.description or ()]
    return [dict(zip(names, row, strict=True)) for row in found.fetchall()]
