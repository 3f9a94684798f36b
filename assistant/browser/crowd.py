"""All browsers that look on: each has a place for the newest news of every kind, and no queue that could grow."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from assistant.browser.hearing import GONE, Hearing, hearing
from assistant.screen.news import Listening, News, Sign, Trouble
from assistant.screen.panel import Panel

MOST = 16
"""Browsers at once."""


Shown = Panel | Trouble | Sign | Hearing
"""What a browser is told."""


class Full(Exception):
    """No more browsers can look on."""


class Place:
    """What one browser has not seen yet: the newest of each kind."""

    def __init__(self) -> None:
        self._fresh = threading.Condition()
        self._unseen: dict[type[Shown], Shown] = {}
        self._closed = False

    def put(self, news: Shown) -> None:
        """Never waits; older news of the same kind are forgotten, and a panel outdates trouble and signs before it."""
        with self._fresh:
            if isinstance(news, Panel):
                self._unseen = {kind: each for kind, each in self._unseen.items() if kind is Hearing}
            self._unseen[type(news)] = news
            self._fresh.notify()

    def close(self) -> None:
        """There will be no more news."""
        with self._fresh:
            self._closed = True
            self._fresh.notify()

    def take(self, timeout_s: float) -> tuple[Shown, ...] | None:
        """The unseen news, () after the time, None when closed."""
        with self._fresh:
            if not self._unseen and not self._closed:
                self._fresh.wait(timeout_s)
            found = tuple(self._unseen.values())
            self._unseen.clear()
            return None if self._closed and not found else found


class Crowd:
    """Hands news to every browser's place, from any thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._places: set[Place] = set()
        self.panel: Panel | None = None
        """The newest."""
        self._hearing = GONE

    def tell(self, news: News) -> None:
        """News from the sitting; never waits for a browser."""
        shown = hearing(news) if isinstance(news, Listening) else news
        with self._lock:
            if shown == self._hearing:
                return  # it is told ten times a second
            if isinstance(shown, Panel):
                self.panel = shown
            elif isinstance(shown, Hearing):
                self._hearing = shown
            for each in self._places:
                each.put(shown)

    @contextmanager
    def place(self) -> Iterator[Place]:
        """A place that begins with the whole present panel and the state of the ears. Raises Full."""
        with self._lock:
            if len(self._places) >= MOST:
                raise Full
            place = Place()
            if self.panel is not None:
                place.put(self.panel)
            place.put(self._hearing)
            self._places.add(place)
        try:
            yield place
        finally:
            with self._lock:
                self._places.discard(place)

    def close(self) -> None:
        """End every place."""
        with self._lock:
            for each in self._places:
                each.close()

    def __len__(self) -> int:
        """Browsers that look on now."""
        with self._lock:
            return len(self._places)
