"""Who worked on a job, as its sessions tell."""

from collections.abc import Iterable, Sequence

from assistant.core import events as ev


def crew_of(events: Sequence[ev.Event]) -> tuple[str, str]:
    """Crew and person; several of a job stand together, as in 'North + South'. '' = not recorded."""
    begun = [each for each in events if isinstance(each, ev.Started)]
    return _together(each.crew for each in begun), _together(each.person for each in begun)


def _together(names: Iterable[str]) -> str:
    return " + ".join(dict.fromkeys(each for each in names if each))
