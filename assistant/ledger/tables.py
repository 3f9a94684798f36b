"""Facts as Arrow tables: a row per job with its pulls inside it, as it is kept and exported, and the two flat ones."""

from collections.abc import Iterable, Sequence
from dataclasses import fields
from types import NoneType
from typing import Any, get_args, get_type_hints

import pyarrow as pa

from assistant.ledger.facts import JOB_NAMES, PULL_NAMES, Facts, JobFacts, PullFacts

_TYPES = {str: pa.string(), int: pa.int64(), float: pa.float64(), bool: pa.bool_()}
DIGEST = "digest"
PULLS = "pulls"

Entry = tuple[str, Facts]
"""SHA-256 of a job file's bytes ('' = not to be kept) and its facts."""


def _columns(kind: type) -> list[pa.Field]:
    hints = get_type_hints(kind)
    return [pa.field(each.name, _TYPES[_plain(hints[each.name])]) for each in fields(kind)]


def _plain(hint: Any) -> type:
    """The type of a column that may be empty."""
    found: type = next((each for each in get_args(hint) if each is not NoneType), hint)
    return found


JOB_FIELDS = _columns(JobFacts)
PULL_FIELDS = _columns(PullFacts)
NESTED = pa.schema([pa.field(DIGEST, pa.string()), *JOB_FIELDS, pa.field(PULLS, pa.list_(pa.struct(PULL_FIELDS)))])
"""One row per job."""


def nested(entries: Sequence[Entry]) -> pa.Table:
    """The entries as one table."""
    jobs = [job for _, (job, _) in entries]
    pulls = [pull for _, (_, own) in entries for pull in own]
    offsets = [0]
    for _, (_, own) in entries:
        offsets.append(offsets[-1] + len(own))
    columns = [
        pa.array([digest for digest, _ in entries], pa.string()),
        *_arrays(jobs, JOB_FIELDS),
        pa.ListArray.from_arrays(pa.array(offsets, pa.int32()), _struct(pulls)),
    ]
    return pa.Table.from_arrays(
        [each.cast(field.type) for each, field in zip(columns, NESTED, strict=True)], schema=NESTED
    )


def _struct(pulls: Sequence[PullFacts]) -> pa.StructArray:
    return pa.StructArray.from_arrays(_arrays(pulls, PULL_FIELDS), fields=PULL_FIELDS)


def _arrays(rows: Sequence[Any], columns: Sequence[pa.Field]) -> list[pa.Array]:
    return [_array([getattr(row, each.name) for row in rows], each.type) for each in columns]


def _array(values: list[Any], kind: pa.DataType) -> pa.Array:
    try:
        return pa.array(values, kind)
    except UnicodeEncodeError:  # half a sign in a made-up name is no text for anybody's table
        return pa.array([each if each is None else each.encode("utf-8", "replace").decode() for each in values], kind)


def joined(parts: Iterable[pa.Table]) -> pa.Table:
    """Parts of one reading together, by file."""
    return pa.concat_tables([NESTED.empty_table(), *parts]).sort_by("file").combine_chunks()


def jobs_of(table: pa.Table) -> pa.Table:
    """The flat table of jobs."""
    return table.select(JOB_NAMES)


def pulls_of(table: pa.Table) -> pa.Table:
    """The flat table of pulls, each with the file it stands in."""
    table = table.combine_chunks()
    column = table.column(PULLS)
    lists = column.chunk(0) if column.num_chunks else pa.array([], NESTED.field(PULLS).type)
    files = table.column("file").take(pa.array(lists.value_parent_indices()))
    flat = lists.flatten()
    return pa.table({"file": files, **{name: flat.field(place) for place, name in enumerate(PULL_NAMES)}})
