"""The session as plain lines, for screen readers, logs, and terminals that cannot draw. Pure text in and out."""

import re
from collections.abc import Iterator
from functools import partial

from assistant.screen.choices import MORE, Choice
from assistant.screen.entry import as_said
from assistant.screen.news import Desk, Listening
from assistant.screen.panel import Panel

LIST = "list"
"""Typed to see all that can be said."""
TALK = "t"
"""Typed to be heard, where one talks by tap."""


_KEY = re.compile(r"k\d")


class OfTheEars:
    """What is told of the ears: what has changed. The level has no line."""

    def __init__(self) -> None:
        self._shown = ""

    def line(self, news: Listening) -> str:
        """'' = nothing to be told."""
        if news.deaf:
            return ""
        before, self._shown = self._shown, news.waits or news.hint
        return self._shown if self._shown != before else ""


def lines_of(panel: Panel) -> Iterator[str]:
    """The panel, a line for each thing; what has nothing to say has no line."""
    yield ""
    if panel.cue is not None:
        yield f"{panel.cue.sign} {panel.cue}"
    if panel.heard:
        yield f"{'heard' if panel.understood else 'not understood'}: {panel.heard}"
    yield from panel.answers
    yield from panel.notes
    mark = panel.content.badge
    if mark is not None:
        yield f"Verdict: {mark.sign} {mark.word} {mark.more}".rstrip()
    if panel.content.instruction and mark is not None:
        yield f"Do: {panel.content.instruction}"
    if panel.ask:
        yield str(panel.place)
        yield from filter(None, (panel.target, panel.last, panel.question))
        yield "Type k1, k2, k3 or the words: " + ", ".join(_keys(panel))


def _keys(panel: Panel) -> Iterator[str]:
    for number, each in enumerate(panel.keys, start=1):
        like = f" ({each.like})" if each.like else ""
        yield f"k{number} {'list' if each == MORE else each.label}{like}"


def answer(panel: Panel, text: str, desk: Desk) -> str | tuple[str, ...]:
    """What a typed line means: the sentence to be taken, or lines to be shown."""
    text = " ".join(text.lower().split())
    if text == LIST:
        return listed(panel)
    if _KEY.fullmatch(text):
        at = int(text[1]) - 1
        return _chosen(panel, panel.keys[at]) if 0 <= at < len(panel.keys) else ("There is no such key.",)
    return as_said(text, panel.pads, partial(desk.accepts, panel.ask))


def _chosen(panel: Panel, choice: Choice) -> str | tuple[str, ...]:
    if choice.say:
        return choice.say
    return listed(panel) if choice == MORE else (f"{choice.label}: type it, for example: {choice.like}",)


def listed(panel: Panel) -> tuple[str, ...]:
    """Everything that can be said."""
    return tuple(f"  {each.sentence}" for each in panel.listed)
