"""A job's facts by the reading that `pullcall review JOB` does: any file, however odd, gives a row."""

from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.ledger.facts import BUSY, EMPTY, UNREADABLE, Facts, cover_of, facts_of, unread
from assistant.record.reading import Reading, read_job
from assistant.record.review import damage_of
from assistant.record.walk import walk


def careful_facts(file: str, path: Path) -> Facts:
    """The facts of the job file at `path`, called `file` in the table. Never raises for what is in the file."""
    try:
        reading = read_job(path)
        if reading.blank:
            return unread(file, EMPTY, "nothing was recorded")
        return _facts(file, reading)
    except Refusal as refusal:
        state = BUSY if refusal.code is Exit.JOB_BUSY else UNREADABLE
        return unread(file, state, refusal.line.removeprefix(f"{path}: "))
    except OverflowError:
        return unread(file, UNREADABLE, "holds figures beyond any tape")


def _facts(file: str, reading: Reading) -> Facts:
    gone = walk(reading.rows)
    told = [step.event for step in gone.steps]
    begun = reading.rows[0].wall if reading.rows else ""
    trouble = damage_of(reading) or gone.trouble
    return facts_of(gone.state, cover_of(file, reading.count, begun, told, trouble=trouble, newer=reading.newer))
