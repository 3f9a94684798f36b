"""What can be tapped at each ask, from asks.toml: choices that are sentences, and pads that make one."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from assistant.core.length import System

IMPERIAL, METRIC = ("ft", "in"), ("m", "cm", "mm")
"""Unit keys of either tape."""


@dataclass(frozen=True)
class Choice:
    """Something that can be tapped."""

    label: str
    """At most a few words, for a key."""
    say: str = ""
    """The sentence it stands for; '' = it opens a pad."""
    pad: str = ""
    """Name of the pad it opens; '' = none."""
    like: str = ""
    """For a pad: an example of its sentences."""
    metric: str = ""
    """The same on the metric tape; '' = it is one there, too."""

    @property
    def sentence(self) -> str:
        """What can be said instead of tapping it."""
        return self.say or self.like

    def on(self, system: System | None) -> "Choice":
        """With its example on one tape, once a job has one: the other tape's would be refused."""
        return replace(self, like=self.metric) if self.metric and system is System.METRIC else self


BIG = 2
"""Big keys of an ask's own; the third opens the list."""
MORE = Choice("More")
"""The third big key: the list of all that can be said."""


@dataclass(frozen=True)
class Pad:
    """Keys that make one sentence."""

    name: str
    figures: str
    """'tape' = feet, inches, sixteenths, metric; 'number' = digits and a point; 'digits' = kept as digits."""
    begin: str = ""
    """Words before what is pressed."""
    end: str = ""
    """Words after it."""
    units: tuple[str, ...] = ()
    """Unit keys: 'ft', 'in', 'm', 'cm', 'mm', 'F', 'C'."""
    words: tuple[str, ...] = ()
    """Keys that are words."""

    @property
    def fractions(self) -> bool:
        """Has it keys for halves to sixteenths?"""
        return self.figures == "tape" and (not self.units or "in" in self.units or self.units == ("mm",))

    def on(self, system: System | None) -> "Pad":
        """The pad on one tape, once a job has one: the other tape's figures would be refused."""
        if self.figures != "tape" or system is None:
            return self
        kept = IMPERIAL if system is System.IMPERIAL else METRIC
        units = tuple(each for each in self.units if each in kept)
        return Pad(self.name, self.figures, self.begin, self.end, units, self.words)


@dataclass(frozen=True)
class AskTaps:
    """All that can be tapped at one ask."""

    choices: tuple[Choice, ...]
    """Its own; the first two are big keys."""
    pads: tuple[Pad, ...]
    alone: bool
    """The general commands are not heard here."""
    patience: int = 1
    """So many times the set wait before silence is asked again; 0 = never: the installer is at work."""
    big: int = BIG
    """So many of the choices are big keys."""

    @property
    def keys(self) -> tuple[Choice, ...]:
        """The big keys: own ones, and beside two of them the list where there is more."""
        own = self.choices[: self.big]
        return own if self.alone or len(own) > BIG else (*own, MORE)

    @property
    def listed(self) -> tuple[Choice, ...]:
        """Everything that can be said, for the list."""
        own = {each.say for each in self.choices if each.say}
        general = () if self.alone else tuple(each for each in _file()["commands"] if each.say not in own)
        return *self.choices, *general


@cache
def taps(ask: str) -> AskTaps:
    """What can be tapped at the ask. Raises KeyError for an unknown one."""
    found: AskTaps = _file()["asks"][ask]
    return found


def asks() -> tuple[str, ...]:
    """Every ask that can be tapped."""
    return tuple(_file()["asks"])


def title(key: str) -> str:
    """The question of a message key in a few words; '' for one that asks nothing."""
    return str(_file()["title"].get(key, ""))


def hint(key: str) -> str:
    """What to do or to know about the question of a message key; '' where nothing is."""
    return str(_file()["hint"].get(key, ""))


@cache
def _file() -> Mapping[str, Any]:
    raw = tomllib.loads((Path(__file__).parent / "asks.toml").read_text(encoding="utf-8"))
    return {
        "asks": {name: _ask(table) for name, table in raw["ask"].items()},
        "commands": tuple(Choice(**each) for each in raw["commands"]["choices"]),
        "title": raw["title"],
        "hint": raw["hint"],
    }


def _ask(table: Mapping[str, Any]) -> AskTaps:
    pads = tuple(_pad(name, keys) for name, keys in table.get("pads", {}).items())
    choices = tuple(Choice(**each) for each in table["choices"])
    return AskTaps(choices, pads, table.get("alone", False), table.get("patience", 1), table.get("big", BIG))


def _pad(name: str, table: Mapping[str, Any]) -> Pad:
    lists = {key: tuple(table.get(key, ())) for key in ("units", "words")}
    return Pad(name, table["figures"], table.get("begin", ""), table.get("end", ""), lists["units"], lists["words"])
