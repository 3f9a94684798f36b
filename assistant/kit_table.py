"""Reads the stretcher's kit from its table of the settings or of a room file."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from assistant.core.kit import Kit, KitError, Tube
from assistant.core.length import Length
from assistant.exits import Refusal
from assistant.units import read_length

KEYS = tuple(each.name for each in fields(Kit))
"""What the table may hold; what it leaves out is as in the default kit."""


def read_kit(table: Mapping[str, Any]) -> Kit:
    """The kit of a [kit] table: typed lengths such as '24 in', and tubes = [{ length = '4 ft', count = 6 }].

    Raises KitError naming the key, the value and what would be right.
    """
    for key in table:
        if key not in KEYS:
            raise KitError(key, f"unknown key; allowed: {', '.join(KEYS)}")
    values: dict[str, Any] = {
        key: _tubes(value) if key == "tubes" else _length(key, value) for key, value in table.items()
    }
    return Kit(**values)


def _length(key: str, value: object) -> Length:
    text = " ".join(str(value).split())  # the error stays on one line
    try:
        return read_length(text)[0]
    except Refusal as error:
        raise KitError(key, f"{text} must be a length: {error.line}") from error


def _tubes(value: object) -> tuple[Tube, ...]:
    if not isinstance(value, list):
        raise KitError("tubes", f"{value} must be a list of {{ length = '4 ft', count = 6 }}")
    return tuple(_tube(f"tubes[{place}]", each) for place, each in enumerate(value, start=1))


def _tube(key: str, value: object) -> Tube:
    if not isinstance(value, dict) or set(value) != {"length", "count"}:
        raise KitError(key, f"{value} must be {{ length = '4 ft', count = 6 }}")
    count = value["count"]
    if not isinstance(count, int) or isinstance(count, bool):
        raise KitError(f"{key}.count", f"{count} must be a whole number, without quotes")
    return Tube(_length(f"{key}.length", value["length"]), count)
