"""Reads an order of passes from its TOML file."""

import tomllib
from pathlib import Path

from assistant.core.order import Direction, Order, OrderError, Part, PassRule, check
from assistant.shelf import orders_folder

DEFAULT = "cross_length_cross"


def read_order(name: str = DEFAULT) -> Order:
    """The order called `name`, checked. Raises OrderError naming the file and what is wrong."""
    return read_order_file(orders_folder() / f"{name}.toml")


def read_order_file(file: Path) -> Order:
    """An order from any file. Raises OrderError naming the file and what is wrong."""
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8"))
        passes = tuple(PassRule(Direction(each["direction"]), Part(each["part"])) for each in table["pass"])
        return check(Order(table["name"], passes))
    except KeyError as error:
        raise OrderError(
            f"{file.name}: lacks {error}; an order has a name and passes with direction and part"
        ) from None
    except (OSError, tomllib.TOMLDecodeError, TypeError, ValueError) as error:
        raise OrderError(f"{file.name}: {error}") from error
