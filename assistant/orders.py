"""Reads an order of passes from its TOML file; docs/orders.md shows the keys."""

import tomllib
from collections.abc import Mapping, Sequence
from enum import Enum
from fractions import Fraction
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from assistant.core import trade
from assistant.core.length import Length
from assistant.core.order import Direction, End, Order, OrderError, Part, PassRule, Side, check
from assistant.exits import Refusal
from assistant.shelf import orders_folder
from assistant.units import read_length

DEFAULT = "cross_length_cross"
ENDING = ".toml"
"""What the path of an order's file ends in."""
_ORDER_KEYS = ("name", "pass", "hooked", "tie_off_run", "source")
_PASS_KEYS = ("direction", "part", "towards", "first_angle")
_Choice = TypeVar("_Choice", bound=Enum)


def read_order(name: str = DEFAULT) -> Order:
    """The order called `name`, or the user's own in the file of that path, checked.

    What ends in '.toml' is a path. Raises OrderError naming the file or the orders there are, and what is wrong.
    """
    if name.endswith(ENDING):
        return read_order_file(Path(name))
    known = shipped_orders()
    if name not in known:
        allowed = f"one of {', '.join(known)}, or the path of a file of your own that ends in {ENDING}"
        raise OrderError(f"no order is called '{name}'; allowed: {allowed}")
    return read_order_file(orders_folder() / f"{name}{ENDING}")


def shipped_orders() -> list[str]:
    """Names of the orders that ship."""
    return sorted(file.stem for file in orders_folder().glob(f"*{ENDING}"))


def read_order_file(file: Path) -> Order:
    """An order from any file, checked. Raises OrderError naming file, key, value and what is allowed."""
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        why = error.strerror if isinstance(error, OSError) else error
        raise OrderError(f"{file.name}: cannot be read ({why}); an order is a TOML file") from error
    order = _Reader(file.name, table, "").order()
    try:
        return check(order)
    except OrderError as error:
        raise OrderError(f"{file.name}: {error}") from None


class _Reader:
    """One table of the file; `where` stands before its keys in messages."""

    def __init__(self, file: str, table: Mapping[str, Any], where: str) -> None:
        self.file, self.table, self.where = file, table, where

    def order(self) -> Order:
        self._only(_ORDER_KEYS)
        passes = self._passes()
        run = self._run() if "tie_off_run" in self.table else Order.tie_off_run
        hooked = self._hooked() if "hooked" in self.table else Order.hooked
        return Order(self._text("name"), passes, hooked, run, self._text("source") if "source" in self.table else "")

    def _passes(self) -> tuple[PassRule, ...]:
        rows = self._needed("pass", "one [[pass]] or more")
        if not isinstance(rows, list) or not rows or not all(isinstance(each, dict) for each in rows):
            self._wrong("pass", rows, "one [[pass]] or more")
        return tuple(_Reader(self.file, row, f"pass {i}: ")._pass() for i, row in enumerate(rows, start=1))

    def _pass(self) -> PassRule:
        self._only(_PASS_KEYS)
        return PassRule(
            self._choice("direction", Direction),
            self._choice("part", Part),
            self._choice("towards", End) if "towards" in self.table else PassRule.towards,
            self._angle() if "first_angle" in self.table else PassRule.first_angle,
        )

    def _only(self, keys: Sequence[str]) -> None:
        for key in self.table:
            if key not in keys:
                raise OrderError(f"{self.file}: {self.where}unknown key '{key}'; allowed: {', '.join(keys)}")

    def _needed(self, key: str, allowed: str) -> Any:
        if key not in self.table:
            raise OrderError(f"{self.file}: {self.where}'{key}' is missing; allowed: {allowed}")
        return self.table[key]

    def _wrong(self, key: str, value: object, allowed: str) -> NoReturn:
        raise OrderError(f"{self.file}: {self.where}{key} = {value}: allowed: {allowed}")

    def _text(self, key: str) -> str:
        text = self._needed(key, "a text in quotes")
        if not isinstance(text, str) or not text.strip() or not text.isprintable():
            self._wrong(key, repr(text), "a text in quotes, one line")
        return text

    def _choice(self, key: str, kind: type[_Choice]) -> _Choice:
        return self._one_of(key, self._needed(key, _values(kind)), kind)

    def _one_of(self, key: str, value: object, kind: type[_Choice]) -> _Choice:
        found = next((each for each in kind if each.value == value), None)
        if found is None:
            self._wrong(key, value, _values(kind))
        return found

    def _hooked(self) -> tuple[Side, ...]:
        names = self.table["hooked"]
        if not isinstance(names, list):
            self._wrong("hooked", names, f"a list of {_values(Side)}")
        sides = tuple(self._one_of("hooked", each, Side) for each in names)
        if len(set(sides)) < len(sides):
            self._wrong("hooked", ", ".join(names), "each side once")
        return sides

    def _run(self) -> Length:
        text = self.table["tie_off_run"]
        try:
            return read_length(text if isinstance(text, str) else "")[0]
        except Refusal:
            self._wrong("tie_off_run", text, "a length in quotes, such as '36 in' or '90 cm'")

    def _angle(self) -> Fraction:
        angle, most = self.table["first_angle"], trade.FIRST_ANGLE_UNDER.value
        # A bool is an int to Python; nan and infinity are floats; both fail the comparison or the type.
        if isinstance(angle, bool) or not isinstance(angle, int | float) or not 0 <= angle < most:
            self._wrong("first_angle", angle, f"degrees, from 0 to under {most}")
        return Fraction(str(angle))


def _values(kind: type[Enum]) -> str:
    return ", ".join(str(each.value) for each in kind)
