"""Many simulated rooms: how many pulls end in their band, and with how many strokes beside an oracle's."""

import argparse
import sys
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from random import Random
from unittest.mock import patch

from assistant.core import events as ev
from assistant.core.advice import FallBack, Losses
from assistant.core.band import Construction
from assistant.core.length import ZERO, Length, System
from assistant.core.order import Direction
from assistant.core.room import Axis, Corner
from assistant.orders import read_order
from assistant.practice import ranges
from assistant.practice.carpet import draw_carpet
from assistant.practice.installer import Installer, begun
from assistant.practice.oracle import fewest, lands
from assistant.practice.sheet import Sheet

FIRST = 5000
"""Seed of the first room. The advice was made on seeds 0 to 139 and changed after looks at some from 1000 on."""


@dataclass(frozen=True)
class Tally:
    """What came of some rooms."""

    rooms: int = 0
    pulls: int = 0
    landed: int = 0
    """Settled holds inside the exact band."""
    short: int = 0
    over: int = 0
    unreachable: int = 0
    """Pulls that no number of whole bites and half strokes back lands: not even the oracle's."""
    bites: int = 0
    oracle: int = 0
    """Strokes of the oracle, over the pulls that it lands; `bites` counts the same pulls."""
    holds: int = 0
    """Hold readings asked for."""
    again: int = 0
    """Pulls made again."""

    def __add__(self, other: "Tally") -> "Tally":
        names = self.__dataclass_fields__
        return Tally(**{name: getattr(self, name) + getattr(other, name) for name in names})

    @property
    def share(self) -> float:
        """Of the pulls, in their band."""
        return self.landed / self.pulls

    @property
    def ratio(self) -> float:
        """Strokes beside the oracle's."""
        return self.bites / self.oracle

    def __str__(self) -> str:
        return (
            f"{self.rooms} rooms, {self.pulls} pulls: {100 * self.share:.2f} % in band "
            f"({self.short} short, {self.over} over, {self.unreachable} out of any reach); "
            f"{self.bites / self.pulls:.2f} strokes a pull, {self.ratio:.3f} times the oracle's; "
            f"{self.holds / self.pulls:.2f} hold readings and {self.again / self.pulls:.3f} repeats a pull"
        )


def setting_up(seed: int) -> tuple[ev.Event, ...]:
    """The room of `seed`, up to its plan: tufted carpet, the default figure, sides from the ranges."""
    dice = Random(f"room {seed}")
    system = System.METRIC if dice.random() < ranges.METRIC else System.IMPERIAL
    step = system.graduation
    length, width = (step * round(ranges.SIDE.draw(dice) * 12 / float(step.inches)) for _ in range(2))
    return preset(length, width, system)


def preset(length: Length, width: Length, system: System) -> tuple[ev.Event, ...]:
    """A room of these sides, up to its plan."""
    return (
        ev.Started("trial", "none", read_order()),
        ev.JobNamed("1"),
        ev.ConstructionChosen(Construction.TUFTED_SYNTHETIC),
        *(ev.FigureSet(direction, None) for direction in Direction),
        ev.SidesSet(length, width, system),
        ev.CornerChosen(Corner.DOOR_LEFT),
        ev.LayChosen(Axis.DOOR_TO_FAR),
    )


def one_room(seed: int) -> Tally:
    """Talk one room through and compare."""
    job = begun(setting_up(seed))
    plan = job.state.plan
    assert plan is not None
    sheet = Sheet(draw_carpet(seed), plan)
    Installer(job, sheet).work()
    tally = Tally(
        rooms=1,
        holds=job.said.count("holds"),
        again=job.said.count("back_at"),
    )
    for pull in plan.pulls:
        assert pull.band is not None
        strip = sheet.strips[pull.number]
        best = fewest(sheet.carpet, strip.place, pull.band)
        landed = lands(strip.settled, pull.band)
        short = strip.settled < float(pull.band.least.inches)
        tally += Tally(
            pulls=1,
            landed=landed,
            short=short,
            over=not landed and not short,
            unreachable=best is None,
            bites=strip.bites if best is not None else 0,
            oracle=best or 0,
        )
    return tally


@contextmanager
def believing_nothing_is_lost() -> Iterator[None]:
    """The ablation: the estimate always says that hooking loses nothing. In the test-bed only."""
    nothing = FallBack(ZERO, ZERO)
    with patch.object(Losses, "at", lambda *_: nothing):
        yield


def trial(rooms: int, *, ablated: bool = False) -> Tally:
    """`rooms` rooms, seeds from FIRST."""
    with believing_nothing_is_lost() if ablated else nullcontext():
        return sum((one_room(seed) for seed in range(FIRST, FIRST + rooms)), Tally())


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"'{text}': a whole number from 1 is expected")
    return int(text)


def main() -> int:
    """Both figures on standard output."""
    parser = argparse.ArgumentParser(prog="python -m assistant.practice.trial", description=__doc__)
    parser.add_argument("--rooms", type=_count, default=1000, metavar="N", help="how many (default: 1000)")
    options = parser.parse_args()
    print("with the estimate:   ", trial(options.rooms), flush=True)
    print("without the estimate:", trial(options.rooms, ablated=True), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
