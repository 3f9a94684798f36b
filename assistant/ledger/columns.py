"""Facts laid out by column: what reading processes hand over, without the table library."""

from collections.abc import Iterable, Sequence
from itertools import chain
from typing import Any, NamedTuple

from assistant.ledger.facts import JOB_NAMES, PULL_NAMES, Facts

Entry = tuple[str, Facts]
"""SHA-256 of a job file's bytes ('' = not to be kept) and its facts."""


class Columns(NamedTuple):
    """Some jobs and their pulls."""

    digests: list[str]
    jobs: list[tuple[Any, ...]]
    """By field of JobFacts, a value for each job."""
    counts: list[int]
    """Pulls of each job."""
    pulls: list[tuple[Any, ...]]
    """By field of PullFacts, a value for each pull, job after job."""


def columns_of(entries: Sequence[Entry]) -> Columns:
    """The entries, turned over."""
    jobs = [job for _, (job, _) in entries]
    pulls = [pull for _, (_, own) in entries for pull in own]
    digests = [digest for digest, _ in entries]
    counts = [len(own) for _, (_, own) in entries]
    return Columns(digests, _turned(jobs, len(JOB_NAMES)), counts, _turned(pulls, len(PULL_NAMES)))


def merged(parts: Sequence[Columns]) -> Columns:
    """Several as one."""
    digests, jobs, counts, pulls = zip(*parts, strict=True)
    return Columns(list(chain(*digests)), _stacked(jobs), list(chain(*counts)), _stacked(pulls))


def _stacked(parts: Iterable[list[tuple[Any, ...]]]) -> list[tuple[Any, ...]]:
    return [tuple(chain(*column)) for column in zip(*parts, strict=True)]


def _turned(rows: Sequence[tuple[Any, ...]], width: int) -> list[tuple[Any, ...]]:
    return list(zip(*rows, strict=True)) if rows else [()] * width
