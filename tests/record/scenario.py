"""One whole job by hand: 0427, 16 ft 2 in x 12 ft 3 5/8 in, tufted synthetic, cross - length - cross.

Synthetic: nobody pulled this carpet. It holds a short-then-in-band pull, holds, an over pull, a doorway skipped, a
scratched reading, a rejected doubt, a refused figure, a misheard word, a head at 5 in, a pause and a second session.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta, timezone
from fractions import Fraction
from pathlib import Path

from assistant.core import events as ev
from assistant.core.band import Construction
from assistant.core.length import System, feet, inches
from assistant.core.meaning import Quantity
from assistant.core.order import Direction
from assistant.core.room import Axis, Corner
from assistant.orders import read_order
from assistant.record.chain import START, Row, chained
from assistant.record.codec import encode
from assistant.record.job_file import begin_job

Turn = tuple[float, tuple[ev.Event, ...]]
"""Seconds since the turn before, and its events."""

BEGIN = datetime(2026, 3, 17, 8, 5, 0, tzinfo=timezone(timedelta(hours=1)))


class ScriptedClock:
    """Implements ports.Clock; moves only when told."""

    def __init__(self, begin: datetime = BEGIN) -> None:
        self.now, self.ms = begin, 5_000

    def wall(self) -> str:
        return self.now.isoformat(timespec="milliseconds")

    def monotonic_ms(self) -> int:
        return self.ms

    def pass_by(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)
        self.ms += round(seconds * 1000)


def _said(ask: str, text: str, *events: ev.Event, after: float = 6, by: str = "voice", score: float = 0.93) -> Turn:
    return after, (ev.Said(ask, text, score, by), *events)


def started() -> ev.Started:
    return ev.Started("pullcall 0.1.0", "en-small sha256:1f0c", read_order())


def set_up() -> Iterator[Turn]:
    yield 0, (started(),)
    yield _said("job", "job oh four two seven", ev.JobNamed("0427"))
    yield _said("construction", "tufted", ev.ConstructionChosen(Construction.TUFTED_SYNTHETIC))
    yield _said("figure", "no figure", ev.FigureSet(Direction.LENGTH, None))
    yield _said("figure", "no figure", ev.FigureSet(Direction.CROSS, None))
    yield _said("temperature", "sixty two degrees", ev.ConditionNoted("temperature", Quantity(Fraction(62), "F")))
    yield _said("humidity", "forty five per cent", ev.ConditionNoted("humidity", Quantity(Fraction(45), "pct")))
    yield _said("unrolled", "skip", ev.ConditionNoted("unrolled", None))
    yield _said("size", "sixteen inches", ev.Refused("side_too_short"))
    both = ev.SidesSet(feet(16, 2), feet(12, "29/8"), System.IMPERIAL)
    yield _said("size", "sixteen two by twelve three and five eighths", ev.Proposed(both, "confirm_sides"))
    yield _said("confirm", "yes", ev.Confirmed())
    yield _said("corner", "door left", ev.CornerChosen(Corner.DOOR_LEFT))
    yield _said("lay", "door to far", ev.LayChosen(Axis.DOOR_TO_FAR))


def _reading(words: str, figure: str, manner: str = "", after: float = 25) -> Turn:
    return _said("pull", words, ev.ReadingTaken(inches(figure), manner), after=after)


def _hooked(after: float = 30) -> Turn:
    return _said("pull", "hooked", ev.Hooked(), after=after)


def _hold(words: str, figure: str) -> Turn:
    return _said("hold", words, ev.HoldTaken(inches(figure), ""), after=14)


def tie_off() -> Iterator[Turn]:
    """Pass 1: two cross pulls."""
    yield _said("ready", "ready", ev.PassBegun(1), after=60)
    yield _said("pull", "head two and a half", ev.HeadSet(inches("5/2")))
    yield _reading("one and an eighth", "9/8")
    yield _reading("one and five eighths strong", "13/8", "strong")
    yield _hooked()
    yield _hold("one and nine sixteenths", "25/16")
    yield _said("pull", "[unk]", ev.Missed("nomatch"), score=0.31)
    yield _reading("one and three quarters", "7/4", after=15)
    yield _hooked()
    yield _hold("one and five eighths", "13/8")


def length() -> Iterator[Turn]:
    """Pass 2: eight length pulls; the fourth is a doorway."""
    yield _said("ready", "ready", ev.PassBegun(2), after=180)
    yield _reading("one and three quarters", "7/4")
    yield _reading("two and an eighth", "17/8")
    yield _hooked()
    yield _hold("two and a sixteenth", "33/16")
    yield _reading("two and an eighth", "17/8")
    yield _hooked()
    yield _hold("two and a sixteenth", "33/16")
    yield _said("pull", "head five", ev.HeadSet(inches(5)))
    yield _reading("two and a quarter", "9/4")
    yield _said("pull", "note wrinkle", ev.NoteMade("wrinkle"))
    yield _hooked()
    yield _said("pull", "skip doorway", ev.PullSkipped("doorway"))
    yield _reading("two and three eighths", "19/8")
    yield _said("pull", "scratch that", ev.Scratched(), after=4)
    yield _reading("two and three sixteenths", "35/16", after=4)
    yield _hooked()
    yield 20, (ev.Missed("noinput"),)
    yield _said("pull", "pause", ev.Paused())
    yield _said("paused", "resume", ev.Resumed(), after=900)
    yield _said("pull", "twelve inches", ev.Proposed(ev.ReadingTaken(inches(12), ""), "doubt_large"))
    yield _said("confirm", "no", ev.Rejected(), after=4)
    yield _reading("two and a quarter", "9/4", after=4)
    yield _hooked()
    yield _hold("two and an eighth", "17/8")
    yield _reading("two and an eighth", "17/8")
    yield _said("pull", "it slipped", ev.Slipped())
    yield _reading("two and a sixteenth", "33/16")
    yield _hooked()
    yield _reading("two and a quarter", "9/4")
    yield _hooked()


def finish() -> Iterator[Turn]:
    """Pass 3: the rest of the cross pulls; one over, one hooked short; closed."""
    yield _said("ready", "ready", ev.PassBegun(3), after=240)
    for count in range(8):
        if count == 3:
            yield _reading("two and seven sixteenths", "39/16")
        elif count == 5:
            yield _reading("one and seven sixteenths", "23/16")
            yield _said("pull", "hooked", ev.Proposed(ev.Hooked(), "doubt_hooked_short"))
            yield _said("confirm", "yes", ev.Confirmed())
            yield _said("hold", "skip", ev.HoldTaken(None, ""))
            continue
        else:
            yield _reading("one and three quarters", "7/4")
        yield _hooked()
        if count in (0, 1, 6):
            yield _hold("one and eleven sixteenths", "27/16")
    yield 3600, (started(),)
    yield _said("close", "finish job", ev.JobFinished(), by="tap", score=1.0)


def whole() -> list[Turn]:
    return [*set_up(), *tie_off(), *length(), *finish()]


def events(turns: Sequence[Turn] | None = None) -> list[ev.Event]:
    return [event for _, turn in (whole() if turns is None else turns) for event in turn]


def rows(turns: Sequence[Turn] | None = None) -> tuple[Row, ...]:
    """The turns as the chained rows of a job file."""
    clock, found, before = ScriptedClock(), [], START
    for seconds, turn in whole() if turns is None else turns:
        clock.pass_by(seconds)
        for event in turn:
            row = chained(len(found) + 1, clock.wall(), clock.monotonic_ms(), *encode(event), before)
            found.append(row)
            before = row.hash
    return tuple(found)


def write(path: Path, turns: Sequence[Turn] | None = None) -> Path:
    """The turns as a job file."""
    clock = ScriptedClock()
    job = begin_job(path, clock)
    for seconds, turn in whole() if turns is None else turns:
        clock.pass_by(seconds)
        job.append([encode(each) for each in turn])
    job.close()
    return path
