"""The rows of a plain job's pulls, and what is said of all of them: reckoned in whole numbers, floats only at the end.

The rules are `core.advice.outcome`, `core.band.judge` and `record.summary`'s. A quotient of two whole numbers is
rounded once, as a fraction's float is: every value is the careful reading's to the last bit. tests/ledger hold them
together.
"""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from assistant.core.band import Figure, Verdict
from assistant.core.order import Direction
from assistant.ledger.facts import PullFacts
from assistant.ledger.outcomes import Made, Outcomes
from assistant.ledger.plain import Share
from assistant.ledger.turns import TO_THE_INCH, Doubt, units
from assistant.record.summary import NOT_MADE, SKIPPED, WORST_FIRST

_RANK = {mark: place for place, mark in enumerate(WORST_FIRST)}
_SHORT, _IN_BAND, _OVER, _NONE = (each.value for each in (Verdict.SHORT, Verdict.IN_BAND, Verdict.OVER, Verdict.NONE))


class Sums(NamedTuple):
    """What is worked out over all pulls of a job."""

    worst: int | None
    """Number of the pull furthest outside its band, or nearest to a limit."""
    margin: float | None
    """Its margin, percentage points."""
    means: dict[Direction, float]
    """Stretch of the pulls made, per cent; nothing for a direction without."""
    loss: float | None
    """What hooking is expected to lose, inches."""


def judged(shares: Sequence[Share], outcomes: Outcomes) -> tuple[list[PullFacts], Sums]:
    """The pulls' rows, and what is said of all of them together. Raises Doubt for figures on no tape."""
    loss = _expected(outcomes.losses())
    rows: list[PullFacts] = []
    passes = []
    made = outcomes.pulls()
    for share in shares:
        one = _Pass(share, loss or 0)
        rows += one.rows(len(rows), made[len(rows) : len(rows) + share.pulls])
        passes.append(one)
    worst = min((each.worst() for each in passes if each.margins), default=None)
    number, margin = (None, None) if worst is None else (worst[2], float(worst[1]))
    return rows, Sums(number, margin, _means(passes), None if loss is None else loss / TO_THE_INCH)


def _expected(losses: list[int]) -> int | None:
    """The median; losses below zero count as zero. Every length on a tape is even, so halves are whole."""
    if not losses:
        return None
    found = sorted(max(each, 0) for each in losses)
    both = found[(len(found) - 1) // 2] + found[len(found) // 2]
    if both % 2:
        raise Doubt
    return both // 2


def _means(passes: Sequence["_Pass"]) -> dict[Direction, float]:
    """All passes of a direction have one span."""
    found = {}
    for way in Direction:
        own = [each for each in passes if each.share.direction is way]
        count = sum(len(each.moved) for each in own)
        if count:
            found[way] = 100 * sum(sum(each.moved) for each in own) / (own[0].span * count)
    return found


class _Pass:
    """One pass being judged. Its limits are whole numbers of `fine` parts of a per cent."""

    def __init__(self, share: Share, loss: int) -> None:
        self.share, self._loss = share, loss
        self.span = units(share.span)
        self._fine, self._least, self._most = _fineness(share.figure)
        self.moved: list[int] = []
        """Of the pulls made."""
        self.margins: list[tuple[int, int, int]] = []
        """Of those judged: how grave, margin in parts of `fine` per cent and span, number."""

    def rows(self, before: int, made: Iterable[Made]) -> Iterator[PullFacts]:
        """Of its pulls, of which `made` came; so many pulls were `before` it."""
        span, way, span_in = self.span, self.share.direction.value, float(self.share.span.inches)
        for number, (bites, last, hold, skipped, notes, done) in enumerate(made, start=before + 1):
            moved, measured = self._outcome(last, hold) if done and not skipped else (None, None)
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
                None if moved is None else 100 * moved / span,
                measured,
                None if margin is None else margin / (span * self._fine),
                None if hold is None or last is None else 100 * (last - hold) / span,
                bites,
                skipped or None,
                notes,
            )

    def worst(self) -> tuple[int, Fraction, int]:
        """The gravest mark, the smallest margin under it in percentage points, and whose it is."""
        rank, margin, number = min(self.margins)
        return rank, Fraction(margin, self.span * self._fine), number

    def _outcome(self, last: int | None, hold: int | None) -> tuple[int | None, bool | None]:
        """How far the carpet moved, and whether that was measured after hooking; nothing where nobody looked."""
        if hold is not None:
            return hold, True
        return (None, None) if last is None else (last - self._loss, False)

    def _judge(self, moved: int, number: int) -> tuple[str, int | None]:
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
