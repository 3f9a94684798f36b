"""The facts of a job of the common kind: a plain room, and nothing in its log that this has no rule for."""

from collections.abc import Iterable
from functools import lru_cache

from assistant.core.band import Construction, Figure
from assistant.core.order import Direction
from assistant.ledger import turns as do
from assistant.ledger.course import Course
from assistant.ledger.facts import Cover, Facts, Whole, carpet_of, job_facts
from assistant.ledger.judged import Sums, judged
from assistant.ledger.outcomes import Outcomes
from assistant.ledger.turns import turns_of
from assistant.record.crew import crew_of

_carpet_of = lru_cache(maxsize=1024)(carpet_of)


def plain_facts(file: str, count: int, begun: str, pairs: Iterable[tuple[str, str]]) -> Facts:
    """Of the log of `count` rows, begun at that wall time; `pairs` = kind and payload of all but what was said.

    Raises Doubt where another reading must decide, BadRow for a row that is no event, OverflowError for figures beyond
    any tape.
    """
    course = Course(turns_of(pairs))
    outcomes = Outcomes(course.count, course.changes)
    rows, sums = judged(course.shares, outcomes)
    return job_facts(_whole(course, sums, finished=outcomes.finished), _cover(course, file, count, begun), rows)


def _whole(course: Course, sums: Sums, *, finished: bool) -> Whole:
    construction: Construction = course.set_up[do.CONSTRUCTION]
    maker: Figure | None = course.set_up[do.FIGURE].get(Direction.LENGTH)
    length, cross = (sums.means.get(each) for each in (Direction.LENGTH, Direction.CROSS))
    job: str = course.set_up.get(do.JOB, "")
    return Whole(job, _carpet_of(construction, maker), finished, sums.worst, sums.margin, length, cross, sums.lost)


def _cover(course: Course, file: str, count: int, begun: str) -> Cover:
    practice = any(each.practice for each in course.begun)
    return Cover(file, count, begun, "", False, practice, *crew_of(course.begun), course.carried_from)
