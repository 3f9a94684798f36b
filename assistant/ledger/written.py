"""The questions as DuckDB's SQL, written out once: Ibis takes longer to load and to put them than DuckDB to answer.

`python -m assistant.ledger questions` writes questions.sql anew after questions.py was changed; a test holds both
together.
"""

from functools import cache
from pathlib import Path

PATH = Path(__file__).with_name("questions.sql")
_NAME = "-- name: "
PRACTICE = ", practice counted"
"""End of the names of those that count practice jobs, too."""
_HEAD = "-- Written by `python -m assistant.ledger questions` from questions.py, on tables jobs, counted, pulls.\n"


@cache
def statements() -> dict[str, str]:
    """By name: 'counted' and 'totals', each with PRACTICE, too, and those of `questions.all_of`."""
    _, *parts = PATH.read_text(encoding="utf-8").split(_NAME)
    return {name: sql.strip() for name, sql in (part.split("\n", 1) for part in parts)}


def written_out() -> str:
    """What questions.sql should hold. Needs Ibis."""
    import ibis

    from assistant.ledger import questions
    from assistant.ledger.answers import WORST
    from assistant.ledger.tables import NESTED, jobs_of, pulls_of

    empty = NESTED.empty_table()
    jobs, counted, pulls = (
        ibis.table(ibis.schema(each.schema), name=name)
        for name, each in (("jobs", jobs_of(empty)), ("counted", jobs_of(empty)), ("pulls", pulls_of(empty)))
    )
    found = questions.all_of(jobs, counted, pulls, WORST)
    for practice, end in ((False, ""), (True, PRACTICE)):
        found[f"counted{end}"] = questions.counted(jobs, practice=practice)
        found[f"totals{end}"] = questions.totals(jobs, practice=practice)
    texts = (f"{_NAME}{name}\n{ibis.to_sql(each, dialect='duckdb')}\n" for name, each in found.items())
    return "\n".join((_HEAD, *texts))
