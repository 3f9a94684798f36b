"""Jobs that stand in a folder twice count once: byte for byte copies, and files that went on in a new one."""

from posixpath import basename

import pyarrow as pa

from assistant.ledger.facts import CARRIED, COPY, OPEN, WHOLE
from assistant.ledger.tables import DIGEST


def counted_once(table: pa.Table) -> pa.Table:
    """The table with the second of two equal files called a copy, and one that went on in another called so."""
    names = ("file", "state", "trouble", DIGEST, "carried_from", "begun")
    files, states, troubles, digests, before, begun = (table.column(each).to_pylist() for each in names)
    sound = [row for row, state in enumerate(states) if state in (WHOLE, OPEN)]
    # The rows so far were copied, the first one with its time; it may have gone on in another folder.
    later = {(before[row], begun[row]): files[row] for row in sound if before[row]}
    seen: dict[str, str] = {}
    for row in sound:
        file, digest = files[row], digests[row]
        if digest and seen.setdefault(digest, file) != file:
            states[row], troubles[row] = COPY, f"the same, byte for byte, as {seen[digest]}"
        elif (went_on := later.get((basename(file), begun[row]), file)) != file:
            states[row], troubles[row] = CARRIED, f"went on in {went_on} after a disk error"
    for name, values in (("state", states), ("trouble", troubles)):
        table = table.set_column(table.schema.get_field_index(name), name, pa.array(values, pa.string()))
    return table
