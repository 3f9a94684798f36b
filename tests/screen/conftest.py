"""A screen without a terminal, and a desk that takes what is tapped at once."""

import asyncio
from collections.abc import AsyncIterator, Callable, Coroutine
from contextlib import asynccontextmanager
from typing import Any

import pytest

from assistant.exits import Exit
from assistant.practice.rehearsal import Rehearsal
from assistant.record.memory import MemoryStore
from assistant.record.trouble import DiskFull
from assistant.screen.app import PullcallApp

Walk = Callable[..., None]


class Desk(Rehearsal):
    """Answers a tap with the next panel, and remembers it."""

    def __init__(self) -> None:
        super().__init__()
        self.tapped: list[tuple[int, str]] = []
        self.app: PullcallApp | None = None

    def tap(self, turn: int, sentence: str) -> None:
        self.tapped.append((turn, sentence))
        panel = self.say(sentence)
        if self.app is not None:
            self.app.tell(panel)


class FullOnce(MemoryStore):
    """A disk that is full when the job is named; then there is room."""

    full = True

    def append(self, rows):  # type: ignore[no-untyped-def]
        if self.full and any(kind == "job_named" for kind, _ in rows):
            self.full = False
            raise DiskFull(Exit.NOT_WRITABLE, "hall.job: the disk is full; make room and say it again")
        return super().append(rows)


@asynccontextmanager
async def screen(desk: Desk, size: tuple[int, int] = (80, 24), **options: Any) -> AsyncIterator[Any]:
    """The app on a desk, with its pilot."""
    desk.app = PullcallApp(desk, begin=lambda: desk.app.tell(desk.panel), **options)  # type: ignore[union-attr]
    async with desk.app.run_test(size=size) as pilot:
        await pilot.pause()
        yield pilot


@pytest.fixture
def desk() -> Desk:
    return Desk()


def run(work: Coroutine[Any, Any, None]) -> None:
    """An async test without a plug-in."""
    asyncio.run(work)
