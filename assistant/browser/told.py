"""News as a browser gets them: server-sent events whose data are JSON."""

import json
from dataclasses import asdict
from typing import Any

from assistant.browser.crowd import Shown
from assistant.browser.hearing import Hearing
from assistant.screen.choices import Pad
from assistant.screen.news import Sign, Trouble
from assistant.screen.pad_keys import PadKey, pad_rows, word_rows
from assistant.screen.panel import Panel

BEAT = b"event: beat\ndata: {}\n\n"
"""Sent while there are no news, so that a page knows that it is still connected."""


def event(news: Shown) -> bytes:
    """One event."""
    match news:
        case Panel():
            sign = "" if news.cue is None else news.cue.sign
            more = {"where": str(news.place), "sign": sign, "pads": list(map(_pad, news.pads))}
            return _event("panel", {**asdict(news), **more})
        case Trouble(line):
            return _event("trouble", {"line": line})
        case Sign(heard):
            return _event("sign", {"heard": heard})
        case Hearing():
            return _event("ears", asdict(news))


def _event(kind: str, data: dict[str, Any]) -> bytes:
    return f"event: {kind}\ndata: {json.dumps(data)}\n\n".encode()


def _pad(pad: Pad) -> dict[str, Any]:
    across, upright = _rows(pad_rows(pad)), _rows(pad_rows(pad, upright=True))
    return {"name": pad.name, "across": across, "upright": upright, "words": _rows(word_rows(pad))}


def _rows(rows: tuple[tuple[PadKey, ...], ...]) -> list[list[dict[str, str]]]:
    return [[asdict(each) for each in row] for row in rows]
