"""Lines -> words: what is said and what is shown, from assistant/messages."""

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from assistant.core import spoken
from assistant.core.length import Length, System, tape
from assistant.core.line import Line, Value
from assistant.cues import Cue
from assistant.shelf import messages_folder


@dataclass(frozen=True)
class Wording:
    """One line in words."""

    say: str
    """For the voice: figures in number words; '' = only shown."""
    show: str
    """For the screen: figures as on the tape."""
    helper: bool
    """Called out to the helper, in the second voice."""
    cue: Cue | None = None
    """What its turn sounds and looks like because of it; None = like any other."""


@cache
def messages() -> dict[str, tuple[str, str, bool]]:
    """key -> (said, shown, for the helper)."""
    table = tomllib.loads((messages_folder() / "en.toml").read_text(encoding="utf-8"))
    found: dict[str, tuple[str, str, bool]] = {}
    for listener, entries in table.items():
        for key, text in entries.items():
            say, show = (text, text) if isinstance(text, str) else (text["say"], text["show"])
            found[key] = (say, show, listener == "helper")
    return found


@cache
def cues() -> dict[str, Cue]:
    """Key of a message -> the cue it gives its turn; most give none."""
    table = tomllib.loads((messages_folder() / "cues.toml").read_text(encoding="utf-8"))
    return {key: Cue[name.upper()] for name, keys in table.items() for key in keys}


def word(line: Line, system: System) -> Wording:
    """The line in words. Raises KeyError for a key or a figure the messages do not have."""
    say, show, helper = messages()[line.key]
    values = dict(line.values)
    said = say.format_map({name: _said(value, system) for name, value in values.items()})
    written = show.format_map({name: shown(value, system) for name, value in values.items()})
    return Wording(_sentence(said), _sentence(written), helper, cues().get(line.key))


def _said(value: Value, system: System) -> str:
    match value:
        case Length():
            return spoken.length(value, system)
        case Fraction():
            return spoken.share(value)
        case int():
            return spoken.whole(value)
        case _:
            return value


def shown(value: Value, system: System) -> str:
    """A figure as the messages show it."""
    match value:
        case Length():
            return tape(value, system)
        case Fraction():
            return f"{float(value):g}" if spoken.four_places(value) else f"{float(value):.3g}"
        case _:
            return str(value)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
