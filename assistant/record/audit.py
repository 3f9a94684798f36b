"""What `pullcall verify` gathers from the rows of a job, one after the other."""

from dataclasses import dataclass, field
from itertools import chain

from assistant.core import events as ev
from assistant.core.log_events import CarriedOn, SoundKept
from assistant.record.chain import Row
from assistant.record.clock import NOTE, ClockJump, clock_jumps, moment
from assistant.record.code import GOES_ON
from assistant.record.codec import BadRow, decode

GAP_S = 600.0
"""Rows further apart are told as a gap: longer than a pull takes. A design choice."""
MOST_CLOSES = 100
"""So many ends of a job or of its sessions are held against a code, the last ones: each takes a tenth of a second."""
MOST_TOLD = 20
"""So many rows that are no events are told one by one."""


@dataclass(frozen=True)
class Session:
    """A session of the job."""

    row: int
    wall: str
    program: str
    model: str


@dataclass(frozen=True)
class Gap:
    """A long time without a row."""

    row: int
    """The row after it."""
    seconds: float
    stopped: bool
    """No session ran: pullcall was ended and started again."""


@dataclass
class Audit:
    """Gathered row by row."""

    rows: int = 0
    sessions: list[Session] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    jumps: list[ClockJump] = field(default_factory=list)
    links: list[CarriedOn] = field(default_factory=list)
    sounds: list[SoundKept] = field(default_factory=list)
    strange: list[str] = field(default_factory=list)
    """Rows of known kind that are no events: a line each for the first of them."""
    unknown: int = 0
    """Rows of kinds this version does not know."""
    closes: list[Row] = field(default_factory=list)
    """Rows that closed the job."""
    _ends: list[tuple[Row, Row]] = field(default_factory=list)
    """The last row of a session, and the one with which the job went on."""
    first: Row | None = None
    last: Row | None = None
    _told: Row | None = None
    """The last one that is no note of a jump: such a note stands in front of the row, or the session, after it."""

    def take(self, row: Row) -> None:
        """The next row."""
        if row.kind in GOES_ON and self._told is not None:
            self._ends = [*self._ends, (self._told, row)][-MOST_CLOSES:]
        if row.kind != NOTE:
            self.jumps += clock_jumps((self._told or row, row))
            self._gap(self._told or row, row)
            self._told = row
        self.first, self.last, self.rows = self.first or row, row, self.rows + 1
        self._event(row)

    def _gap(self, before: Row, row: Row) -> None:
        start, end = moment(before.wall), moment(row.wall)
        stopped = row.kind == "started" or row.monotonic_ms < before.monotonic_ms
        seconds = (row.monotonic_ms - before.monotonic_ms) / 1000
        if stopped:
            seconds = (end - start).total_seconds() if start is not None and end is not None else 0.0
        if seconds > GAP_S:
            self.gaps.append(Gap(row.seq, round(seconds, 3), stopped))

    def _event(self, row: Row) -> None:
        try:
            event = decode(row.kind, row.payload, row.seq)
        except BadRow as error:
            self.strange = [*self.strange, error.line][:MOST_TOLD]
            return
        match event:
            case ev.Started(program, model):
                self.sessions.append(Session(row.seq, row.wall, program, model))
            case ev.JobFinished():
                self.closes = [*self.closes, row][-MOST_CLOSES:]
            case ev.Unknown():
                self.unknown += 1
            case CarriedOn():
                self.links.append(event)
            case SoundKept():
                self.sounds.append(event)

    @property
    def sealing(self) -> tuple[Row, ...]:
        """The rows a code may stand for, the last one last; behind the end of a session the row that went on."""
        found = [*self.closes, *chain.from_iterable(self._ends), *([] if self.last is None else [self.last])]
        return tuple({each.seq: each for each in sorted(found, key=lambda each: each.seq)}.values())
