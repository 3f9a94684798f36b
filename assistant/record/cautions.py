"""The cautions shown before the first pull and in the report: data in assistant/messages/cautions.toml."""

import tomllib
from dataclasses import dataclass
from functools import cache

from assistant.shelf import messages_folder


@dataclass(frozen=True)
class SafetyCaution:
    """One caution, in our own words."""

    key: str
    title: str
    text: str
    source: str
    vouch: str
    """'published', 'second hand', 'common practice' or 'from memory'."""


@cache
def safety_cautions() -> tuple[SafetyCaution, ...]:
    """All of them, in the order they are shown."""
    table = tomllib.loads((messages_folder() / "cautions.toml").read_text(encoding="utf-8"))
    return tuple(SafetyCaution(**each) for each in table["caution"])
