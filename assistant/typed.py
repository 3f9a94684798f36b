"""A TOML file read key by key: every value has its type; what is wrong names file, key, value and what is allowed."""

import tomllib
from collections.abc import Callable, Collection, Iterable, Mapping
from enum import Enum
from fractions import Fraction
from math import isfinite
from pathlib import Path
from typing import Any, TypeVar

from assistant.exits import Exit, Refusal

_MOST_BYTES = 1_000_000
_SHOWN = 60
Value = TypeVar("Value")
Choice = TypeVar("Choice", bound=Enum)


class Table:
    """One table of a TOML file; `done` refuses keys nobody asked for."""

    def __init__(self, values: Mapping[str, Any], file: str, path: str, code: Exit) -> None:
        """`path` is the table's own name within the file, '' for the whole file; `code` is what refusals carry."""
        self._values, self._file, self._path, self._code = values, file, path, code
        self._asked: list[str] = []

    def wrong(self, key: str, what: str) -> Refusal:
        """A refusal that names file, key and value; `what` says what would be right."""
        shown = repr(self._values[key]) if key in self._values else "missing"
        shown = shown if len(shown) <= _SHOWN else f"{shown[:_SHOWN]}..."
        return Refusal(self._code, f"{self._file}: {self._name(key)} = {shown}: {what}")

    def _name(self, key: str) -> str:
        return f"{self._path}.{key}" if self._path else key

    def has(self, key: str) -> bool:
        """Is the key there?"""
        return key in self._values

    def get(self, key: str, kind: type[Value], what: str, default: Value | None = None) -> Value | None:
        """The value of `key`, of type `kind`; `what` describes it, as in 'a whole number'."""
        self._asked.append(key)
        if key not in self._values:
            return default
        value = self._values[key]
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            raise self.wrong(key, f"must be {what}")
        return value

    def need(self, key: str, kind: type[Value], what: str) -> Value:
        """As `get`, and it must be there."""
        value = self.get(key, kind, what)
        if value is None:
            raise self.wrong(key, f"must be {what}")
        return value

    def number(self, key: str, what: str, default: Fraction) -> Fraction:
        """A number, exact as it is written; `what` describes it, as in 'degrees'."""
        value = self.get(key, object, what)
        if value is None:
            return default
        if not isinstance(value, int | float) or not isfinite(value):
            raise self.wrong(key, f"must be {what}, without quotes")
        return Fraction(str(value))

    def either(self, key: str, default: Value, what: str, good: Callable[[Value], bool] = lambda _: True) -> Value:
        """The value of `key`, of the type of its default, where it is `good`; `what` describes it."""
        value = self.get(key, type(default), what)
        if value is None:
            return default
        if not good(value):
            raise self.wrong(key, f"must be {what}")
        return value

    def choice(self, key: str, kind: type[Choice], default: Choice | None = None) -> Choice:
        """One of the values of an enumeration; without a default it must be there."""
        allowed = f"one of {', '.join(str(each.value) for each in kind)}"
        text = self.get(key, str, allowed, default and default.value)
        for each in kind:
            if each.value == text:
                return each
        raise self.wrong(key, f"must be {allowed}")

    def read(self, key: str, reader: Callable[[str], Value], what: str) -> Value | None:
        """A text that `reader` turns into a value; its Refusal is told with the key. None where the key is missing."""
        text = self.get(key, str, what)
        if text is None:
            return None
        try:
            return reader(text)
        except Refusal as refusal:
            raise self.wrong(key, f"must be {what}: {refusal.line}") from None

    def table(self, key: str) -> "Table":
        """The table under `key`, an empty one where it is missing."""
        values = self.get(key, dict, "a table", {})
        return Table(values or {}, self._file, self._name(key), self._code)

    def tables(self, key: str) -> Iterable["Table"]:
        """The tables of the list under `key`, each with its number in its name."""
        what = f"one [[{self._name(key)}]] or more"
        for number, each in enumerate(self.get(key, list, what) or [], start=1):
            if not isinstance(each, dict):
                raise self.wrong(key, f"must be {what}")
            yield Table(each, self._file, f"{self._name(key)} {number}", self._code)

    def only(self, keys: Collection[str]) -> None:
        """Refuse the first key that is none of these."""
        for key in self._values:
            if key not in keys:
                raise self.wrong(key, f"unknown key; allowed: {', '.join(keys)}")

    def done(self) -> None:
        """Refuse the first key that was not asked for."""
        self.only(dict.fromkeys(self._asked))


def read_table(file: Path, code: Exit, example: str, kind: str = "") -> Table:
    """The whole file as a table; `kind` stands before its path in refusals.

    Raises Refusal (`code`) for a file that is missing, too large, no text or no TOML; `example`
    says what would be right.
    """
    called = f"{kind} {file}".lstrip()
    try:
        with file.open("rb") as stream:
            raw = stream.read(_MOST_BYTES + 1)
        if len(raw) > _MOST_BYTES:
            raise Refusal(code, f"{called}: longer than {_MOST_BYTES} bytes; {example}")
        return Table(tomllib.loads(raw.decode("utf-8")), called, "", code)
    except (OSError, ValueError, RecursionError) as error:
        why = error.strerror if isinstance(error, OSError) else error
        raise Refusal(code, f"{called}: cannot be read ({why}); {example}") from None
