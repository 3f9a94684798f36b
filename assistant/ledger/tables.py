"""Facts as Arrow tables: a row per job with its pulls inside it, as it is kept and exported, and the two flat ones."""

from collections.abc import Iterable, Sequence
from itertools import accumulate
from types import NoneType
from typing import Any, get_args, get_type_hints

import pyarrow as pa

from assistant.ledger.columns import Columns, Entry, columns_of
from assistant.ledger.facts import JOB_NAMES, OPEN, PULL_NAMES, WHOLE, JobFacts, PullFacts

_TYPES = {str: pa.string(), int: pa.int64(), float: pa.float64(), bool: pa.bool_()}
DIGEST = "digest"
PULLS = "pulls"


def _columns(kind: type[JobFacts] | type[PullFacts]) -> list[pa.Field]:
    hints = get_type_hints(kind)
    return [pa.field(name, _TYPES[_plain(hints[name])]) for name in kind._fields]


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
    return table_of(columns_of(entries))


def table_of(columns: Columns) -> pa.Table:
    """What a reading process handed over, as one table."""
    offsets = pa.array([0, *accumulate(columns.counts)], pa.int32())
    pulls = pa.StructArray.from_arrays(_arrays(columns.pulls, PULL_FIELDS), fields=PULL_FIELDS)
    arrays = [pa.array(columns.digests, pa.string()), *_arrays(columns.jobs, JOB_FIELDS)]
    arrays.append(pa.ListArray.from_arrays(offsets, pulls).cast(NESTED.field(PULLS).type))
    return pa.Table.from_arrays(arrays, schema=NESTED)


def _arrays(columns: Sequence[Sequence[Any]], kinds: Sequence[pa.Field]) -> list[pa.Array]:
    return [_array(values, kind.type) for values, kind in zip(columns, kinds, strict=True)]


def _array(values: Sequence[Any], kind: pa.DataType) -> pa.Array:
    try:
        return pa.array(values, kind)
    except UnicodeEncodeError:  # half a sign in a made-up name is no text for anybody's table
        return pa.array([each if each is None else each.encode("utf-8", "replace").decode() for each in values], kind)


def joined(parts: Iterable[pa.Table]) -> pa.Table:
    """Parts of one reading together, by file."""
    return together(parts).sort_by("file").combine_chunks()


def together(parts: Iterable[pa.Table]) -> pa.Table:
    """Likewise, in the order they come."""
    return pa.concat_tables([NESTED.empty_table(), *parts])


def unlike(first: pa.Table, later: pa.Table) -> list[str]:
    """The files that `first` has as sound and `later` has not."""
    told = set(_files(first, sound=True))
    return [each for each in _files(later, sound=False) if each in told]


def _files(table: pa.Table, *, sound: bool) -> list[str]:
    columns = (table.column(each).to_pylist() for each in ("file", "state"))
    return [file for file, state in zip(*columns, strict=True) if (state in (WHOLE, OPEN)) == sound]


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
