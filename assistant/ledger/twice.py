"""Jobs that stand in a folder twice count once: byte for byte copies, and files that went on in a new one."""

from posixpath import dirname, join

import pyarrow as pa

from assistant.ledger.facts import CARRIED, COPY, OPEN, WHOLE
from assistant.ledger.tables import DIGEST


def counted_once(table: pa.Table) -> pa.Table:
    """The table with the second of two equal files called a copy, and one that went on in another called so."""
    names = ("file", "state", "trouble", DIGEST, "carried_from")
    files, states, troubles, digests, before = (table.column(each).to_pylist() for each in names)
    later = {join(dirname(file), name): file for file, name in zip(files, before, strict=True) if name}
    seen: dict[str, str] = {}
    for row, (file, digest) in enumerate(zip(files, digests, strict=True)):
        if states[row] not in (WHOLE, OPEN):
            continue
        if digest and seen.setdefault(digest, file) != file:
            states[row], troubles[row] = COPY, f"the same, byte for byte, as {seen[digest]}"
        elif later.get(file, file) != file:
            states[row], troubles[row] = CARRIED, f"went on in {later[file]} after a disk error"
    for name, values in (("state", states), ("trouble", troubles)):
        table = table.set_column(table.schema.get_field_index(name), name, pa.array(values, pa.string()))
    return table
