"""The questions as DuckDB's SQL, written out once: Ibis takes longer to load and to put them than DuckDB to answer.

`python -m assistant.ledger questions` writes questions.sql anew after questions.py was changed; a test holds both
together. What is asked of every dimension stands there once.
"""

from functools import cache
from pathlib import Path

from assistant.ledger.answers import DIMENSIONS, FOLLOWED, WORST

PATH = Path(__file__).with_name("questions.sql")
_NAME = "-- name: "
_PLACE = "{dimension}"
_EACH = {f"by {_PLACE}": DIMENSIONS, f"trend by {_PLACE}": FOLLOWED}
PRACTICE = ", practice counted"
"""End of the names of those that count practice jobs, too."""
_HEAD = "-- Written by `python -m assistant.ledger questions` from questions.py, on tables jobs, counted, pulls.\n"


@cache
def statements() -> dict[str, str]:
    """By name: 'counted' and 'totals', each with PRACTICE, too, and those of `questions.all_of`."""
    _, *parts = PATH.read_text(encoding="utf-8").split(_NAME)
    told = (part.strip().split("\n", 1) for part in parts)
    return {
        name.replace(_PLACE, each): sql.replace(_PLACE, each)
        for name, sql in told
        for each in _EACH.get(name, DIMENSIONS[:1])
    }


def put_by_ibis() -> dict[str, str]:
    """What `statements` should be. Needs Ibis."""
    import ibis

    from assistant.ledger import questions
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
    return {name: str(ibis.to_sql(each, dialect="duckdb")) for name, each in found.items()}


def written_out() -> str:
    """What questions.sql should hold. Needs Ibis."""
    found = put_by_ibis()
    for name, each_of in _EACH.items():
        shown, *_ = each_of
        sql = found[name.replace(_PLACE, shown)].replace(f'"{shown}"', f'"{_PLACE}"')
        found = {name: sql} | {other: each for other, each in found.items() if other not in _names(name)}
    return "\n".join((_HEAD, *(f"{_NAME}{name}\n{sql}\n" for name, sql in found.items())))


def _names(template: str) -> list[str]:
    return [template.replace(_PLACE, each) for each in _EACH[template]]
