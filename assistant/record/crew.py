"""Who worked on a job, and which file it was in before, as its log tells."""

from collections.abc import Iterable, Sequence

from assistant.core import events as ev
from assistant.core.log_events import CarriedOn


def crew_of(events: Sequence[ev.Event]) -> tuple[str, str]:
    """Crew and person; several of a job stand together, by name, as in 'North + South'. '' = not recorded."""
    begun = [each for each in events if isinstance(each, ev.Started)]
    return _together(each.crew for each in begun), _together(each.person for each in begun)


def carried_from(events: Sequence[ev.Event]) -> str:
    """Name of the file that the job was in before a disk error; '' = it is in the one it began in."""
    return next((each.file for each in reversed(events) if isinstance(each, CarriedOn)), "")


def _together(names: Iterable[str]) -> str:
    return " + ".join(sorted({each for each in names if each}))
