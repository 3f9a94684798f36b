"""How far apart two chains of phones sound: a weighted edit distance."""

import tomllib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name("phones.toml").read_text(encoding="utf-8"))


@cache
def swap(one: str, other: str) -> float:
    """Cost of `other` where `one` was said."""
    if one == other:
        return 0.0
    table = _table()
    if any({one, other} == {*each.split()} for each in table["pairs"]):
        return float(table["pair"])
    alike = any(one in each.split() and other in each.split() for each in table["classes"])
    return float(table["same_class"] if alike else table["other"])


@cache
def gap(phone: str) -> float:
    """Cost of leaving `phone` out or putting it in."""
    table = _table()
    return float(table["weak_gap"] if phone in table["weak"].split() else table["gap"])


def distance(one: Sequence[str], other: Sequence[str]) -> float:
    """The cheapest way from one chain of phones to the other; 0 for the same sound."""
    row = [0.0]
    for phone in other:
        row.append(row[-1] + gap(phone))
    for said in one:
        before, row = row, [row[0] + gap(said)]
        for at, heard in enumerate(other):
            row.append(min(before[at] + swap(said, heard), before[at + 1] + gap(said), row[at] + gap(heard)))
    return round(row[-1], 3)
