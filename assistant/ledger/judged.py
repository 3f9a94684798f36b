"""The facts of pulls from what was due and what became of it: no plan, no drawing, one pass.

The rules are `core.advice.outcome`, `core.band.judge` and `record.summary`'s; a band's limits are compared as per cent,
which is the same. tests/ledger hold every value against the careful reading's.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from assistant.core.advice import fall_back
from assistant.core.band import Figure, Verdict
from assistant.core.order import Direction
from assistant.core.record import PullRecord, Status
from assistant.ledger.facts import Exact, PullFacts, exact_float
from assistant.ledger.plain import Due
from assistant.record.summary import NOT_MADE, SKIPPED, WORST_FIRST

Judged = tuple[str, Fraction | None, Fraction | None, bool | None]
"""Mark, stretch in per cent, margin in percentage points, measured."""

_RANK = {mark: place for place, mark in enumerate(WORST_FIRST)}


def judged_pulls(dues: Sequence[Due], records: Sequence[PullRecord]) -> tuple[list[PullFacts], Exact]:
    """The pulls' rows, and what is said of all of them together."""
    loss = fall_back(records)
    expected = loss.expected.inches if loss is not None else Fraction(0)
    found = [_judge(due, record, expected) for due, record in zip(dues, records, strict=True)]
    rows = [_row(*each) for each in zip(dues, records, found, strict=True)]
    means = [_mean(dues, found, each) for each in (Direction.LENGTH, Direction.CROSS)]
    return rows, Exact(_worst(dues, found), means[0], means[1], loss)


def _judge(due: Due, record: PullRecord, expected: Fraction) -> Judged:
    if record.status is not Status.DONE:
        return SKIPPED if record.skipped else NOT_MADE, None, None, None
    if record.hold is not None:
        moved, measured = record.hold.moved.inches, True
    elif record.reading is not None:
        moved, measured = record.reading.inches - expected, False
    else:
        return NOT_MADE, None, None, None
    share = _share(moved, due)
    margin = _margin(share, due.figure)
    return _mark(share, margin, due.figure), share, margin, measured


def _share(part: Fraction, due: Due) -> Fraction:
    """In per cent of the span."""
    span = due.span.inches
    return Fraction(100 * part.numerator * span.denominator, part.denominator * span.numerator)


def _margin(share: Fraction, figure: Figure | None) -> Fraction | None:
    if figure is None:
        return None
    below = share - figure.least
    return below if figure.most is None else min(below, figure.most - share)


def _mark(share: Fraction, margin: Fraction | None, figure: Figure | None) -> str:
    if figure is None or margin is None:
        return Verdict.NONE.value
    if margin >= 0:
        return Verdict.IN_BAND.value
    return Verdict.SHORT.value if share < figure.least else Verdict.OVER.value


def _row(due: Due, record: PullRecord, judged: Judged) -> PullFacts:
    mark, share, margin, measured = judged
    lost = record.fall_back
    return PullFacts(
        due.number,
        due.pass_number,
        due.direction.value,
        float(due.span.inches),
        mark,
        exact_float(share),
        measured,
        exact_float(margin),
        None if lost is None else float(_share(lost.inches, due)),
        len(record.readings),
        record.skipped or None,
        len(record.notes),
    )


def _worst(dues: Sequence[Due], found: Sequence[Judged]) -> tuple[int, Fraction] | None:
    pairs = zip(dues, found, strict=True)
    ranked = ((_RANK[mark], margin, due.number) for due, (mark, _, margin, _) in pairs if margin is not None)
    worst = min(ranked, default=None)
    return None if worst is None else (worst[2], worst[1])


def _mean(dues: Sequence[Due], found: Sequence[Judged], direction: Direction) -> Fraction | None:
    made = list(_made(dues, found, direction))
    return sum(made, Fraction(0)) / len(made) if made else None


def _made(dues: Sequence[Due], found: Sequence[Judged], direction: Direction) -> Iterator[Fraction]:
    for due, (_, share, _, _) in zip(dues, found, strict=True):
        if due.direction is direction and share is not None:
            yield share
