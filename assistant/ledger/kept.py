"""What was read before, beside the jobs: one Parquet file, believed only for files whose every byte is the same."""

import contextlib
import os
from pathlib import Path

import pyarrow as pa
from pyarrow import compute, parquet

from assistant import __version__
from assistant.ledger.places import KEPT as NAME
from assistant.ledger.tables import DIGEST, NESTED

_MARK = b"pullcall ledger"
_LAYOUT = f"4, pullcall {__version__}".encode()
"""Another version may work a job out otherwise: then everything is read again."""


def read_kept(folder: Path) -> pa.Table:
    """The rows kept in `folder`; none where there is no such file, or none of this version."""
    path = folder / NAME
    if path.is_symlink() or not path.is_file():
        return NESTED.empty_table()
    try:
        found = parquet.read_table(path, memory_map=False)
    except (OSError, pa.ArrowException):
        return NESTED.empty_table()
    mark = (found.schema.metadata or {}).get(_MARK)
    return found if mark == _LAYOUT and found.schema.equals(NESTED) else NESTED.empty_table()


def write_kept(folder: Path, table: pa.Table) -> str:
    """Keep the rows that have a digest, in place of those before; why it could not be done, '' = it was."""
    path, new = folder / NAME, folder / f"{NAME}.{os.getpid()}"
    if path.is_symlink():
        return f"{path}: is a link"
    rows = table.filter(compute.not_equal(table.column(DIGEST), ""))
    try:
        write_table(rows, new, {_MARK: _LAYOUT})
        new.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            new.unlink(missing_ok=True)
        return f"{path}: {error.strerror or error}"
    return ""


def write_table(table: pa.Table, path: Path, metadata: dict[bytes, bytes] | None = None) -> None:
    """A table as a Parquet file. Raises OSError."""
    parquet.write_table(table.replace_schema_metadata(metadata), path, compression="zstd")
