"""The order of passes: data, read from assistant/orders, checked here."""

from dataclasses import dataclass
from enum import Enum


class Direction(Enum):
    """Which way a pass pulls, seen from the carpet."""

    CROSS = "cross"
    """Across the carpet's width."""
    LENGTH = "length"
    """Along the carpet's length."""


class Part(Enum):
    """Which of a direction's pulls a pass makes."""

    TIE_OFF = "tie-off"
    """The first ones, from the start corner to the end of the tie-off run."""
    REST = "rest"
    """Those no pass before has made."""


@dataclass(frozen=True)
class PassRule:
    """One pass of an order."""

    direction: Direction
    part: Part


@dataclass(frozen=True)
class Order:
    """A named sequence of passes."""

    name: str
    """As shown to people: 'cross - length - cross'."""
    passes: tuple[PassRule, ...]


class OrderError(ValueError):
    """An order that leaves a wall unpulled or does a pass twice; the message says which."""


def check(order: Order) -> Order:
    """The order itself, where it pulls both directions to their end.

    Raises OrderError naming the direction and what is wrong with it.
    """
    for direction in Direction:
        parts = [each.part for each in order.passes if each.direction is direction]
        if Part.REST not in parts:
            raise OrderError(f"order '{order.name}': the {direction.value} direction is never pulled to its end")
        if parts[-1] is not Part.REST or parts.count(Part.REST) > 1:
            raise OrderError(f"order '{order.name}': nothing is left to pull after the {direction.value} rest")
        if parts.count(Part.TIE_OFF) > 1:
            raise OrderError(f"order '{order.name}': the {direction.value} direction is tied off twice")
    return order
