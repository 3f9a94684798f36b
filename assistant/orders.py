"""Reads an order of passes from its TOML file; docs/orders.md shows the keys."""

from pathlib import Path

from assistant.core import trade
from assistant.core.order import Direction, End, Order, OrderError, Part, PassRule, Side, check
from assistant.exits import Exit, Refusal
from assistant.shelf import orders_folder
from assistant.typed import Table, read_table
from assistant.units import read_length

DEFAULT = "cross_length_cross"
ENDING = ".toml"
"""What the path of an order's file ends in."""
_ORDER_KEYS = ("name", "pass", "hooked", "tie_off_run", "source")
_PASS_KEYS = ("direction", "part", "towards", "first_angle")


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
        order = _order(read_table(file, Exit.BAD_SETTINGS, "an order is a TOML file"))
    except Refusal as refusal:
        raise OrderError(refusal.line) from None
    try:
        return check(order)
    except OrderError as error:
        raise OrderError(f"{file}: {error}") from None


def _order(table: Table) -> Order:
    table.only(_ORDER_KEYS)
    run = table.read("tie_off_run", read_length, "a length in quotes, such as '36 in' or '90 cm'")
    return Order(
        _text(table, "name"),
        _passes(table),
        _hooked(table),
        Order.tie_off_run if run is None else run[0],
        _text(table, "source") if table.has("source") else "",
    )


def _text(table: Table, key: str) -> str:
    text = table.need(key, str, what := "a text in quotes, one line")
    if not text.strip() or not text.isprintable():
        raise table.wrong(key, f"must be {what}")
    return text


def _passes(table: Table) -> tuple[PassRule, ...]:
    passes = tuple(map(_pass, table.tables("pass")))
    if not passes:
        raise table.wrong("pass", "must be one [[pass]] or more")
    return passes


def _pass(table: Table) -> PassRule:
    table.only(_PASS_KEYS)
    most = trade.FIRST_ANGLE_UNDER.value
    angle = table.number("first_angle", what := f"degrees, from 0 to under {most}", PassRule.first_angle)
    if not 0 <= angle < most:
        raise table.wrong("first_angle", f"must be {what}")
    direction, part = table.choice("direction", Direction), table.choice("part", Part)
    return PassRule(direction, part, table.choice("towards", End, PassRule.towards), angle)


def _hooked(table: Table) -> tuple[Side, ...]:
    names = table.get("hooked", list, what := f"a list of {', '.join(each.value for each in Side)}, each once")
    if names is None:
        return Order.hooked
    sides = tuple(side for name in names for side in Side if side.value == name)
    if len(set(sides)) < len(names):
        raise table.wrong("hooked", f"must be {what}")
    return sides
