"""Why a job is called for a second look, in plain words."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from assistant.exits import one_line
from assistant.ledger.answers import Row


@cache
def _words() -> dict[str, dict[str, str]]:
    return tomllib.loads(Path(__file__).with_name("reasons.toml").read_text(encoding="utf-8"))


def talk(key: str, **values: Any) -> str:
    """A sentence of what is said while the files are read."""
    return _words()["talk"][key].format(**values)


def reason(row: Row) -> str:
    """The sentence of one row of `questions.second_look`."""
    if row["reason"] == "unread":
        return f"{one_line(row['text'])}; {_could_be_read(int(row['value']))}"
    sentence = _words()["reasons"][row["reason"]]
    return sentence.format(value=figure(row["value"]), usual=figure(row["usual"]))


def _could_be_read(rows: int) -> str:
    return f"{rows:,} rows before that could be read" if rows else "nothing of it could be read"


def figure(value: Any) -> str:
    """A number for people: whole ones whole, others to two places; '–' for none."""
    if value is None:
        return "–"
    return f"{value:,.0f}" if float(value).is_integer() else f"{value:,.2f}"
