"""What a browser taps -> the sentence for the sitting; nothing is believed that the panel does not offer."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from assistant.screen.choices import Pad
from assistant.screen.entry import LONGEST, Entry
from assistant.screen.news import Desk
from assistant.screen.pad_keys import pad_rows, word_rows
from assistant.screen.panel import Panel

MOST_SENTENCE = 200


class BadTap(Exception):
    """A tap that makes no sense, with what is wrong."""


@dataclass(frozen=True)
class Tap:
    """A tapped sentence, and how it is written."""

    turn: int
    sentence: str
    shown: str


def read_tap(body: bytes, panel: Panel) -> Tap:
    """The tap in a JSON body: {turn, say} or {turn, pad, presses}. Raises BadTap."""
    try:
        table = json.loads(body)
    except (ValueError, RecursionError):
        table = None
    if not isinstance(table, dict) or type(table.get("turn")) is not int:
        raise BadTap("no tap: give turn, and say or pad with presses")
    if "pad" in table:
        entry = _entry(table, panel)
        return Tap(table["turn"], entry.sentence, entry.shown)
    said = table.get("say")
    if not isinstance(said, str) or not 0 < len(said) <= MOST_SENTENCE or not said.isprintable():
        raise BadTap(f"no sentence: give 1 to {MOST_SENTENCE} signs in one line")
    return Tap(table["turn"], said, said)


def _entry(table: Mapping[str, Any], panel: Panel) -> Entry:
    presses = table.get("presses")
    pad = next((each for each in panel.pads if each.name == table["pad"]), None)
    if pad is None:  # of a question that was answered meanwhile
        raise BadTap("that pad is closed: answer the present question")
    if not isinstance(presses, list) or len(presses) > LONGEST or not all(each in _presses(pad) for each in presses):
        raise BadTap("no such key on the pad")
    entry = Entry(pad)
    for each in presses:
        entry = entry.press(each)
    return entry


def _presses(pad: Pad) -> list[str]:
    return [key.press for row in (*pad_rows(pad), *word_rows(pad)) for key in row if key.press] + [" "]


def accepted(tap: Tap, panel: Panel, desk: Desk) -> bool:
    """Is it to be handed in? A late tap is: the sitting says that it is late."""
    return tap.turn != panel.turn or desk.accepts(panel.ask, tap.sentence)
