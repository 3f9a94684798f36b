"""The rows of a plain job's pulls, and what is said of all of them: reckoned exactly, floats only at the end.

The rules are `core.advice.outcome`, `core.band.judge` and `record.summary`'s. A quotient of two whole numbers is
rounded once, as a fraction's float is: every value is the careful reading's to the last bit. tests/ledger hold them
together.
"""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import lcm, prod
from statistics import median
from typing import NamedTuple

from assistant.core.advice import losses_at
from assistant.core.band import Figure, Verdict
from assistant.core.order import Direction
from assistant.ledger.facts import PullFacts
from assistant.ledger.outcomes import Made, Outcomes
from assistant.ledger.plain import Share
from assistant.ledger.turns import units
from assistant.record.summary import NOT_MADE, SKIPPED, WORST_FIRST

_RANK = {mark: place for place, mark in enumerate(WORST_FIRST)}
_SHORT, _IN_BAND, _OVER, _NONE = (each.value for each in (Verdict.SHORT, Verdict.IN_BAND, Verdict.OVER, Verdict.NONE))
Exact = int | Fraction
"""A length in `turns.units`: a whole number almost always, and quicker so."""


class Sums(NamedTuple):
    """What is worked out over all pulls of a job."""

    worst: int | None
    """Number of the pull furthest outside its band, or nearest to a limit."""
    margin: float | None
    """Its margin, percentage points."""
    means: dict[Direction, float]
    """Stretch of the pulls made, per cent; nothing for a direction without."""
    lost: float | None
    """What hooking usually lost, median per cent of the span."""


def judged(shares: Sequence[Share], outcomes: Outcomes) -> tuple[list[PullFacts], Sums]:
    """The pulls' rows, and what is said of all of them together. Raises Doubt for figures on no tape."""
    losses = _Losses(shares, outcomes)
    rows: list[PullFacts] = []
    passes = []
    made = outcomes.pulls()
    for share in shares:
        one = _Pass(share, losses)
        rows += one.rows(len(rows), made[len(rows) : len(rows) + share.pulls])
        passes.append(one)
    worst = min((each.worst() for each in passes if each.margins), default=None)
    number, margin = (None, None) if worst is None else (worst[2], float(worst[1]))
    return rows, Sums(number, margin, _means(passes), losses.usual())


class _Losses:
    """What hooking was seen to lose, as `core.advice.Losses` keeps it; all pulls of a direction have one span."""

    def __init__(self, shares: Sequence[Share], outcomes: Outcomes) -> None:
        self._spans = {each.direction: units(each.span) for each in shares}
        self._seen: dict[Direction, list[tuple[int, int]]] = {each: [] for each in self._spans}
        self._places: list[int] = []
        made = dict.fromkeys(Direction, 0)
        for way in (each.direction for each in shares for _ in range(each.pulls)):
            losses = outcomes.losses(len(self._places))
            self._seen[way] += [(made[way], each) for each in losses]
            self._places.append(made[way])
            made[way] += 1

    def at(self, number: int, way: Direction) -> Exact:
        """What it is expected to lose at a pull of this direction; nothing before it was measured."""
        own = [(place, Fraction(loss)) for place, loss in self._seen[way]]
        span = self._spans[way]
        others = [(0, Fraction(loss * span, self._spans[other])) for other, loss in self._all()]
        found = losses_at(self._places[number - 1], own, others)
        loss = median([max(each, Fraction(0)) for each in found]) if found else 0
        return int(loss) if loss == int(loss) else loss

    def usual(self) -> float | None:
        """The median, per cent of the span; losses below zero count as zero."""
        whole = prod(self._spans.values())
        found = sorted(max(loss, 0) * (whole // self._spans[way]) for way, loss in self._all())
        if not found:
            return None
        return 100 * (found[(len(found) - 1) // 2] + found[len(found) // 2]) / (2 * whole)

    def _all(self) -> list[tuple[Direction, int]]:
        return [(way, loss) for way, seen in self._seen.items() for _, loss in seen]


def _means(passes: Sequence["_Pass"]) -> dict[Direction, float]:
    """All passes of a direction have one span."""
    found = {}
    for way in Direction:
        own = [each for each in passes if each.share.direction is way]
        count = sum(len(each.moved) for each in own)
        if count:
            found[way] = float(100 * sum(sum(each.moved) for each in own) / (own[0].span * count))
    return found


class _Pass:
    """One pass being judged. Its limits are whole numbers of `fine` parts of a per cent."""

    def __init__(self, share: Share, losses: _Losses) -> None:
        self.share, self._losses = share, losses
        self.span = units(share.span)
        self._fine, self._least, self._most = _fineness(share.figure)
        self.moved: list[Exact] = []
        """Of the pulls made."""
        self.margins: list[tuple[int, Exact, int]] = []
        """Of those judged: how grave, margin in parts of `fine` per cent and span, number."""

    def rows(self, before: int, made: Iterable[Made]) -> Iterator[PullFacts]:
        """Of its pulls, of which `made` came; so many pulls were `before` it."""
        span, way, span_in = self.span, self.share.direction.value, float(self.share.span.inches)
        for number, (bites, last, hold, skipped, notes, done) in enumerate(made, start=before + 1):
            moved, measured = self._outcome(number, last, hold) if done and not skipped else (None, None)
            if moved is None:
                mark, margin = (SKIPPED if skipped else NOT_MADE), None
            else:
                mark, margin = self._judge(moved, number)
            yield PullFacts(
                number,
                self.share.pass_number,
                way,
                span_in,
                mark,
                None if moved is None else float(100 * moved / span),
                measured,
                None if margin is None else float(margin / (span * self._fine)),
                None if hold is None or last is None else 100 * (last - hold) / span,
                bites,
                skipped or None,
                notes,
            )

    def worst(self) -> tuple[int, Fraction, int]:
        """The gravest mark, the smallest margin under it in percentage points, and whose it is."""
        rank, margin, number = min(self.margins)
        return rank, Fraction(margin, self.span * self._fine), number

    def _outcome(self, number: int, last: int | None, hold: int | None) -> tuple[Exact | None, bool | None]:
        """How far the carpet moved, and whether that was measured after hooking; nothing where nobody looked."""
        if hold is not None:
            return hold, True
        return (None, None) if last is None else (last - self._losses.at(number, self.share.direction), False)

    def _judge(self, moved: Exact, number: int) -> tuple[str, Exact | None]:
        """Mark and margin."""
        self.moved.append(moved)
        if self.share.figure is None:
            return _NONE, None
        made = 100 * moved * self._fine
        below = made - self._least * self.span
        margin = below if self._most is None else min(below, self._most * self.span - made)
        mark = _IN_BAND if margin >= 0 else (_SHORT if below < 0 else _OVER)
        self.margins.append((_RANK[mark], margin, number))
        return mark, margin


def _fineness(figure: Figure | None) -> tuple[int, int, int | None]:
    """How many parts of a per cent both limits are whole numbers of, and the limits in such parts."""
    if figure is None:
        return 1, 0, None
    if figure.most is None:
        return figure.least.denominator, figure.least.numerator, None
    (least, one), (most, other) = figure.least.as_integer_ratio(), figure.most.as_integer_ratio()
    fine = lcm(one, other)
    return fine, least * (fine // one), most * (fine // other)
