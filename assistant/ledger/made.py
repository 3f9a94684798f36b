"""Made-up jobs for measuring: talked through once on simulated carpets, written many times with other names and holds.

Every file is a real job file with a real chain, marked as practice: nobody pulled these carpets.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from random import Random

from assistant.core import events as ev
from assistant.core.fold import fold
from assistant.core.length import Length, System, inches
from assistant.core.meaning import Meaning
from assistant.core.session import respond
from assistant.practice.carpet import draw_carpet
from assistant.practice.installer import Installer, Job
from assistant.practice.sheet import Sheet
from assistant.practice.trial import preset
from assistant.record import schema
from assistant.record.chain import START, chained
from assistant.record.codec import encode

EVENTS = 200
"""Of each job."""
CREWS = ("North", "South", "East", "West", "Harbour", "Hill")
PERSONS_A_CREW = 3
_PER_FOLDER = 1000
_FIRST_DAY = datetime(2026, 1, 5, 7, 30, tzinfo=UTC)
_SIDES = range(8 * 16 * 12, 10 * 16 * 12 + 1)
"""Sixteenths of an inch: small rooms, whose jobs have about so many events."""
_SIXTEENTH = inches("1/16")


class _Told(Job):
    """A job that keeps what was said and what came of it."""

    def __init__(self, setting_up: Sequence[ev.Event]) -> None:
        super().__init__(fold(setting_up))
        self.events: list[ev.Event] = list(setting_up)

    def say(self, meaning: Meaning) -> tuple[str, ...]:
        """As the base, with a record."""
        turn = respond(self.state, meaning)
        self.state = fold(turn.events, self.state)
        self.events += [ev.Said("pull", _words(meaning), 0.93, "voice"), *turn.events]
        keys = tuple(each.key for each in turn.lines)
        self.said += keys
        return keys


def _words(meaning: Meaning) -> str:
    return " ".join((meaning.act, *(f"{each.value} {each.unit}" for each in meaning.quantities)))


def talked_through(seed: int) -> tuple[ev.Event, ...]:
    """A whole job in a small room of `seed`: its events, setting up included, as many as they are."""
    dice = Random(f"ledger {seed}")
    length, width = (_SIXTEENTH * dice.choice(_SIDES) for _ in range(2))
    job = _Told(preset(length, width, System.IMPERIAL))
    plan = job.state.plan
    assert plan is not None
    Installer(job, Sheet(draw_carpet(seed), plan)).work()
    return (*job.events, ev.JobFinished())


def streams(count: int, seed: int = 0, events: int = EVENTS) -> Iterator[tuple[ev.Event, ...]]:
    """So many different jobs, each of exactly `events` events: shorter ones are filled up with misheard turns."""
    found = 0
    while found < count:
        stream = talked_through(seed)
        seed += 1
        if len(stream) <= events:
            found += 1
            yield _filled(stream, events, seed)


def _filled(stream: Sequence[ev.Event], events: int, seed: int) -> tuple[ev.Event, ...]:
    """Misheard turns at random places between utterances."""
    dice, found = Random(f"misheard {seed}"), list(stream)
    while len(found) < events:
        places = [at for at, each in enumerate(found) if isinstance(each, ev.Said)]
        turn: tuple[ev.Event, ...] = (ev.Said("pull", "[unk]", 0.31, "voice"), ev.Missed("nomatch"))
        at = dice.choice(places)
        found[at:at] = turn if len(found) + 2 <= events else (ev.Missed("noinput"),)
    return tuple(found)


@dataclass(frozen=True)
class Cast:
    """What one written job has of its own."""

    number: int
    crew: str
    person: str
    begun: datetime
    off: int
    """Sixteenths its crew's holds usually lie beside those of the stream."""


def cast(number: int, seed: int) -> Cast:
    """Names, day and habit of job `number`."""
    dice = Random(f"cast {seed} {number}")
    place = dice.randrange(len(CREWS))
    person = f"{CREWS[place]} {dice.randrange(PERSONS_A_CREW) + 1}"
    begun = _FIRST_DAY + timedelta(days=dice.randrange(300), minutes=dice.randrange(480))
    return Cast(number, CREWS[place], person, begun, -1 if place == 0 else 0)


def retold(stream: Sequence[ev.Event], part: Cast, seed: int) -> Iterator[ev.Event]:
    """The stream under other names, its holds up to a sixteenth otherwise, a pull here and there left out."""
    dice = Random(f"retold {seed} {part.number}")
    for event in stream:
        match event:
            case ev.Started():
                program = f"{ev.PRACTICE} on simulated carpet, made up {seed}"
                yield replace(event, program=program, model="none: made up", crew=part.crew, person=part.person)
            case ev.JobNamed():
                yield ev.JobNamed(f"{part.number:06d}")
            case ev.HoldTaken(moved=Length() as moved):
                shift = part.off + dice.choice((-1, 0, 0, 0, 0, 1))
                yield replace(event, moved=max(_SIXTEENTH, moved + _SIXTEENTH * Fraction(shift)))
            case _:
                yield event


def write_job(path: Path, events: Sequence[ev.Event], begun: datetime) -> Path:
    """A job file of these events, one every 9 s; without waiting for the disk, which nobody's work depends on."""
    rows, before = [], START
    for seq, event in enumerate(events, start=1):
        wall = (begun + timedelta(seconds=9 * seq)).isoformat(timespec="milliseconds")
        row = chained(seq, wall, 9000 * seq, *encode(event), before)
        rows.append((row.seq, row.wall, row.monotonic_ms, row.kind, row.payload, row.hash))
        before = row.hash
    with closing(sqlite3.connect(path, isolation_level=None)) as base:
        base.execute("PRAGMA synchronous = OFF")
        base.execute("PRAGMA journal_mode = MEMORY")
        base.execute("BEGIN")
        schema.create(base)
        base.executemany(f"INSERT INTO rows ({schema.COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)", rows)
        base.execute("COMMIT")
    return path


def make_jobs(folder: Path, count: int, rooms: int, seed: int = 0) -> int:
    """Write `count` jobs from `rooms` different talks into folders of a thousand; how many were written."""
    base = list(streams(min(rooms, count), seed))
    for number in range(count):
        part = cast(number, seed)
        below = folder / f"{number // _PER_FOLDER:03d}"
        below.mkdir(parents=True, exist_ok=True)
        events = tuple(retold(base[number % len(base)], part, seed))
        write_job(below / f"{number:06d}.job", events, part.begun)
    return count
