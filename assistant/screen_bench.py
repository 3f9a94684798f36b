"""How soon a tap and an utterance are seen: the screen without a terminal, session and job file for real."""

import asyncio
import tempfile
import time
from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path
from typing import Any

from textual.screen import Screen

from assistant.core import events as ev
from assistant.orders import read_order
from assistant.ports import Heard
from assistant.record.clock import SystemClock
from assistant.record.job_file import begin_job
from assistant.screen.app import PullcallApp, Told
from assistant.sitting import Sitting
from assistant.speaker import Speaker
from assistant.speech.text_ears import TextEars

SIZE = (120, 40)
"""Columns and rows measured at."""
_SETUP = (
    *("job one", "tufted", "no figure", "the same", "skip the rest", "twenty feet", "yes", "sixteen feet", "yes"),
    *("it is square", "no openings", "door left", "door to far", "ready"),
)
_READINGS = ("one inch", "one and an eighth", "one and a quarter", "scratch that", "scratch that", "scratch that")


def screen_times(count: int) -> tuple[list[float], list[float]]:
    """Milliseconds from a tap to its repaint, and from an utterance to its first sign, `count` of each."""
    return asyncio.run(_measure(count))


class _Watched(PullcallApp):
    """Knows when what it was told was painted."""

    _paints = _told_at = 0

    async def until_painted(self, true: Callable[[], bool]) -> None:
        """Until something was painted after `true` became so."""
        while not true() or self._paints <= self._told_at:
            await asyncio.sleep(0)

    def on_told(self, message: Told) -> None:
        """Besides what the screen does: the paint that follows is waited for."""
        self._told_at = self._paints

    def _display(self, screen: Screen[Any], renderable: Any) -> None:
        super()._display(screen, renderable)
        self._paints += 1


async def _measure(count: int) -> tuple[list[float], list[float]]:
    with tempfile.TemporaryDirectory() as folder:
        store = begin_job(Path(folder, "bench.job"), SystemClock())
        started = ev.Started("bench", "bench", read_order())
        tell: Callable[[Any], object] = lambda news: app.tell(news)  # noqa: E731
        sitting = Sitting(store, lambda: started, Speaker(None, None, lambda line: None), tell)
        app = _Watched(sitting, begin=sitting.start)
        async with app.run_test(size=SIZE):
            for sentence in _SETUP:
                await _until_turn(app, sitting, sentence)
            taps = [await _timed(_until_turn(app, sitting, each)) for each in _readings(count)]
            signs = []
            for each in _readings(count):
                turn = app.panel.turn
                signs.append(await _timed(_until_sign(app, sitting, each)))
                await app.until_painted(partial(_after, app, turn))
        sitting.end()
        store.close()
    return taps, signs


def _readings(count: int) -> list[str]:
    return [_READINGS[at % len(_READINGS)] for at in range(count)]


def _after(app: PullcallApp, turn: int) -> bool:
    return app.panel.turn > turn


async def _timed(work: Awaitable[None]) -> float:
    start = time.perf_counter()
    await work
    return (time.perf_counter() - start) * 1000


async def _until_turn(app: _Watched, sitting: Sitting, sentence: str) -> None:
    while sitting.open_question is None:
        await asyncio.sleep(0.001)
    turn = sitting.open_question[0]
    sitting.tap(turn, sentence)
    await app.until_painted(lambda: app.panel.turn > turn)


async def _until_sign(app: _Watched, sitting: Sitting, sentence: str) -> None:
    question = sitting.open_question
    assert question is not None, "the job is open"
    heard = TextEars().listen(question[1]).feed(sentence.encode() + b"\n")
    assert isinstance(heard, Heard)
    before = app.signs
    sitting.hear(question[0], heard)
    await app.until_painted(lambda: app.signs > before)
