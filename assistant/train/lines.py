"""Files of lines, a thing each: tables with tabs, and JSON. A broken line is refused by file and line."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from assistant.exits import Exit, Refusal

Made = TypeVar("Made")


def refuse(file: Path, line: int, why: str) -> NoReturn:
    """Raises Refusal (USAGE)."""
    raise Refusal(Exit.USAGE, f"{file} line {line}: {why}")


def json_lines(file: Path, make: Callable[[Any], Made]) -> list[Made]:
    """What `make` makes of every line of JSON. Raises Refusal (USAGE) naming file and line of a broken one."""
    made = []
    for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
        try:
            made.append(make(json.loads(line)))
        except (ValueError, KeyError, TypeError) as error:
            why = f"{type(error).__name__}: {error}"
            refuse(file, number, f"is broken ({why}); delete it if it is the last, else make the file anew")
    return made


def table(file: Path, *needed: str) -> Iterator[tuple[int, dict[str, str]]]:
    """(line, column -> cell) of a table whose first line names its columns; empty lines are passed over.

    Raises Refusal (USAGE) naming file and line: a column of `needed` missing, cells missing or too many.
    """
    first, *lines = file.read_text(encoding="utf-8").splitlines() or [""]
    names = first.split("\t")
    if missing := [each for each in needed if each not in names]:
        refuse(file, 1, f"lacks the column {missing[0]}; the first line names the columns: {', '.join(needed)}")
    for number, line in enumerate(lines, 2):
        cells = line.split("\t")
        if line and len(cells) != len(names):
            refuse(file, number, f"{len(cells)} cells; must be {len(names)}, one tab between two")
        if line:
            yield number, dict(zip(names, cells, strict=True))
