"""The order of passes: data, read from assistant/orders, checked here."""

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from assistant.core import trade
from assistant.core.length import ZERO, Length


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


class End(Enum):
    """One end of a direction, seen from the start corner."""

    HOME = "home"
    """The start corner's own wall."""
    AWAY = "away"
    """The wall facing it."""

    @property
    def other(self) -> "End":
        """The end facing this one."""
        return End.AWAY if self is End.HOME else End.HOME


class Side(Enum):
    """One of the four sides of the job, named by the direction pulled between it and the side facing it."""

    CROSS_HOME = "cross home"
    CROSS_AWAY = "cross away"
    LENGTH_HOME = "length home"
    LENGTH_AWAY = "length away"

    @classmethod
    def at(cls, direction: Direction, end: End) -> "Side":
        """The side at that end of the direction."""
        return cls(f"{direction.value} {end.value}")


@dataclass(frozen=True)
class PassRule:
    """One pass of an order."""

    direction: Direction
    part: Part
    towards: End = End.AWAY
    """Where the head stands; the tail stands at the other end and needs a hooked wall behind it."""
    first_angle: Fraction = Fraction(0)
    """Degrees by which the pass's first pull leans into the corner it stands at."""


@dataclass(frozen=True)
class Order:
    """A named sequence of passes."""

    name: str
    """As shown to people: 'cross - length - cross'."""
    passes: tuple[PassRule, ...]
    hooked: tuple[Side, ...] = (Side.CROSS_HOME, Side.LENGTH_HOME)
    """Sides hooked before the first pull, from end to end."""
    tie_off_run: Length = Length(trade.TIE_OFF_RUN.value)
    """From the start corner: what a tie-off pass pulls."""
    source: str = ""
    """Where the order comes from and how well it is vouched for."""


class OrderError(ValueError):
    """An order that cannot be worked: which pass or direction, what is wrong, what would be right."""


def check(order: Order) -> Order:
    """The order itself, where it pulls every unhooked side from end to end and never against an unhooked one.

    Works through the passes, keeping for every side which parts of it are hooked. A pull needs its tail's side hooked
    behind it and its head's side free; made, it hooks the head's side. Raises OrderError naming the first pass that
    cannot be made, or the direction that is not pulled to its end.
    """
    if order.tie_off_run <= ZERO:
        raise OrderError(f"order '{order.name}': a tie-off run of nothing; it must be longer, such as 36 in")
    hooked = {side: set(Part) if side in order.hooked else set() for side in Side}
    made: dict[Direction, set[Part]] = {direction: set() for direction in Direction}
    for number, rule in enumerate(order.passes, start=1):
        fault = _make(rule, hooked, made[rule.direction])
        if fault:
            where = f"pass {number} ({rule.direction.value} {rule.part.value})"
            raise OrderError(f"order '{order.name}': {where}: {fault}")
    for direction in Direction:
        if Part.REST not in made[direction]:
            raise OrderError(
                f"order '{order.name}': the {direction.value} direction is never pulled to its end; "
                f"it needs a {direction.value} pass of part 'rest'"
            )
    return order


def _make(rule: PassRule, hooked: dict[Side, set[Part]], made: set[Part]) -> str:
    """Makes the pass's pulls; what is wrong with them, '' where all is well."""
    due = set(Part) - made if rule.part is Part.REST else {Part.TIE_OFF} - made
    fault = _fault(rule, due, hooked, made)
    hooked[Side.at(rule.direction, rule.towards)] |= due
    made |= due
    return fault


def _fault(rule: PassRule, due: set[Part], hooked: dict[Side, set[Part]], made: set[Part]) -> str:
    direction, most = rule.direction, trade.FIRST_ANGLE_UNDER.value
    head, tail = Side.at(direction, rule.towards), Side.at(direction, rule.towards.other)
    if Part.REST in made:
        return f"nothing is left to pull after the {direction.value} rest; leave this pass out"
    if not due:
        return f"the {direction.value} direction is tied off twice; leave this pass out or make it the rest"
    if due - hooked[tail]:
        return f"pulls against the {tail.value} side, which is not hooked there; hook it first or pull the other way"
    if due & hooked[head]:
        return f"pulls towards the {head.value} side, which is hooked already; leave one of the two sides unhooked"
    if not 0 <= rule.first_angle < most:
        return f"a first pull angled {rule.first_angle} degrees; it must be from 0 to under {most}"
    if rule.first_angle and made:
        return "its first pull is angled, but no longer stands at the corner; angle the tie-off's first pull"
    return ""
