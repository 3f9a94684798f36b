"""Job files for the ledger's tests: made-up ones, and ones no session would write."""

import os
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from fractions import Fraction
from functools import cache
from pathlib import Path
from random import Random

import pyarrow as pa

from assistant.core import events as ev
from assistant.core.length import Length, System, feet, inches
from assistant.ledger.facts import Facts
from assistant.ledger.made import cast, retold, streams, write_job
from assistant.ledger.worker import read_one

pa.array([0])
# Now pyarrow has looked for pandas: a review in this process must not tell it that there is none (ledger.lean).

BEGUN = datetime(2026, 3, 17, 8, 5, tzinfo=UTC)


@cache
def talks(count: int = 6) -> tuple[tuple[ev.Event, ...], ...]:
    return tuple(streams(count))


def write_jobs(folder: Path, count: int) -> list[Path]:
    """Real chains, different crews; no practice, so that they count."""
    folder.mkdir(parents=True, exist_ok=True)
    found = []
    for number in range(count):
        events = list(retold(talks()[number % len(talks())], cast(number, 0), 0))
        first = events[0]
        assert isinstance(first, ev.Started)
        events[0] = ev.Started("pullcall 1", "none", first.order, crew=first.crew, person=first.person)
        found.append(write_job(folder / f"{number:03d}.job", events, cast(number, 0).begun))
    return found


def facts(path: Path) -> Facts:
    return read_one(str(path), path.name)[1]


def disturbed(stream: Sequence[ev.Event], seed: int) -> tuple[ev.Event, ...]:
    """The stream with events of every kind thrown in, kept or in the wrong place."""
    dice, found = Random(f"disturbed {seed}"), list(stream)
    planned = next(at for at, each in enumerate(found) if isinstance(each, ev.LayChosen)) + 1
    for _ in range(dice.randrange(1, 5)):
        at = dice.randrange(planned, len(found) + 1)
        found[at:at] = dice.choice(tuple(_thrown_in(dice)))
    if dice.random() < 0.2:
        del found[dice.randrange(planned, len(found)) :]
    if dice.random() < 0.2:
        del found[dice.randrange(planned, len(found))]
    return tuple(found)


def _thrown_in(dice: Random) -> Iterator[tuple[ev.Event, ...]]:
    moved = Length(Fraction(dice.randrange(1, 48), 16))
    number = dice.randrange(0, 20)
    yield (ev.Scratched(),)
    yield (ev.Scratched(),) * dice.randrange(2, 5)
    yield (ev.Proposed(ev.PullReopened(number), "doubt"), ev.Confirmed())
    yield (ev.Proposed(ev.ReadingTaken(moved, "strong"), "doubt"), ev.Rejected())
    yield (ev.Proposed(ev.ReadingTaken(moved, ""), "doubt"), ev.Confirmed(), ev.Confirmed())
    yield (ev.Proposed(ev.NoteMade("seam"), "doubt"), ev.Scratched(), ev.Confirmed())
    yield (ev.PullReopened(number),)
    yield (ev.SkipAsked(), ev.PullSkipped("doorway"))
    yield (ev.ReadingTaken(moved, "light"), ev.Slipped(), ev.ReadingTaken(moved, ""))
    yield (ev.Hooked(dice.random() < 0.5),)
    yield (ev.Hooked(None),)
    yield (ev.HoldTaken(moved, ""),)
    yield (ev.HoldTaken(None, ""),)
    yield (ev.HeadSet(inches(2)), ev.NoteMade("wrinkle"))
    yield (ev.NoteMade("damage", number),)
    yield (ev.PassBegun(2), ev.Paused(), ev.Resumed(), ev.VoiceChanged("louder"))
    yield (ev.SidesSet(feet(11), feet(9), dice.choice(list(System))),)
    yield (ev.JobNamed("77"),)
    yield (ev.JobFinished(),)
    yield (ev.Offered((), "unsure"), ev.Chosen(0))
    yield (ev.Unknown("of_tomorrow", "{}"), ev.Refused("side_too_short"), ev.Missed("noinput"))


def die(places: object) -> None:
    """What a reading process does when the system runs out of memory."""
    os._exit(9)
