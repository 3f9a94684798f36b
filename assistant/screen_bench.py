"""How soon a tap and an utterance are seen: the drawn screen without a terminal, the session and its job file for real."""

import asyncio
import tempfile
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from assistant.core import events as ev
from assistant.orders import read_order
from assistant.ports import Heard
from assistant.record.clock import SystemClock
from assistant.record.job_file import begin_job
from assistant.screen.app import PullcallApp
from assistant.sitting import Sitting
from assistant.speaker import Speaker
from assistant.speech.text_ears import TextEars

SIZE = (120, 40)
"""Columns and rows measured at."""
_SETUP = (
    ("job one", "tufted", "no figure", "the same", "skip the rest", "twenty feet", "yes", "sixteen feet", "yes")
    + ("it is square", "no openings", "door left", "door to far", "ready")
)  # fmt: skip
_READINGS = ("one inch", "one and an eighth", "one and a quarter", "scratch that", "scratch that", "scratch that")


def screen_times(count: int) -> tuple[list[float], list[float]]:
    """Milliseconds from a tap to its repaint, and from an utterance to its first sign, `count` of each."""
    return asyncio.run(_measure(count))


async def _measure(count: int) -> tuple[list[float], list[float]]:
    with tempfile.TemporaryDirectory() as folder:
        store = begin_job(Path(folder, "bench.job"), SystemClock())
        started = ev.Started("bench", "bench", read_order())
        tell: Callable[[Any], object] = lambda news: app.tell(news)  # noqa: E731
        sitting = Sitting(store, lambda: started, Speaker(None, None, lambda line: None), tell)
        app = PullcallApp(sitting, begin=sitting.start)
        async with app.run_test(size=SIZE):
            for sentence in _SETUP:
                await _until_turn(app, sitting, sentence)
            taps = [await _timed(lambda s=s: _until_turn(app, sitting, s)) for s in _readings(count)]
            signs = [await _timed(lambda s=s: _until_sign(app, sitting, s)) for s in _readings(count)]
        sitting.end()
        store.close()
    return taps, signs


def _readings(count: int) -> list[str]:
    return [_READINGS[at % len(_READINGS)] for at in range(count)]


async def _timed(work: Callable[[], Awaitable[None]]) -> float:
    start = time.perf_counter()
    await work()
    return (time.perf_counter() - start) * 1000


async def _until_turn(app: PullcallApp, sitting: Sitting, sentence: str) -> None:
    while sitting.open_question is None:
        await asyncio.sleep(0.001)
    turn = sitting.open_question[0]
    sitting.tap(turn, sentence)
    while app.panel.turn <= turn or not app.panel.ask:
        await asyncio.sleep(0)
    await _painted(app)


async def _until_sign(app: PullcallApp, sitting: Sitting, sentence: str) -> None:
    while sitting.open_question is None or sitting.open_question[0] != app.panel.turn:
        await asyncio.sleep(0)
    turn, ask = sitting.open_question
    heard = TextEars().listen(ask).feed(sentence.encode() + b"\n")
    assert isinstance(heard, Heard)
    before = app.signs
    sitting.hear(turn, heard)
    while app.signs == before:
        await asyncio.sleep(0)
    await _painted(app)


async def _painted(app: PullcallApp) -> None:
    done = asyncio.Event()
    app.call_after_refresh(done.set)
    await done.wait()
