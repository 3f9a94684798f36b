"""A page served on a free port, and a desk that takes what is tapped."""

import http.client
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

import pytest

from assistant.browser.tablet import Tablet
from assistant.browser.wishes import TabletWishes
from assistant.practice.rehearsal import Rehearsal
from assistant.screen.news import Trouble

OPEN_TO_ALL = "0.0.0.0"


class Desk(Rehearsal):
    """Answers a tap with the next panel, or tells that it is late, as a sitting does."""

    def __init__(self) -> None:
        super().__init__()
        self.tapped: list[tuple[int, str]] = []
        self.served: Served | None = None

    def tap(self, turn: int, sentence: str) -> None:
        assert self.served is not None
        self.tapped.append((turn, sentence))
        late = turn != self.panel.turn
        self.served.tablet.tell(Trouble("That came too late.") if late else self.say(sentence))


class Served:
    """A tablet page with its desk and what was told on the terminal."""

    def __init__(self, wishes: TabletWishes, theme: str = "dark") -> None:
        self.desk, self.told = Desk(), list[str]()
        self.desk.served = self
        self.tablet = Tablet(wishes, self.desk, lambda trouble: self.told.append(trouble.line), theme)
        self.tablet.open()
        self.tablet.tell(self.desk.panel)

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.tablet.port}"

    @property
    def code(self) -> str:
        """The last one shown."""
        return next(line for line in reversed(self.told) if "code" in line).split(" is ")[1]

    def ask(
        self, method: str, path: str, body: str | None = None, headers: Mapping[str, str] | None = None
    ) -> tuple[int, str, http.client.HTTPMessage]:
        """Status, body and headers of one request, as our page would make it unless `headers` say otherwise."""
        line = http.client.HTTPConnection("127.0.0.1", self.tablet.port, timeout=5)
        usual = {"Host": self.host} | ({"Origin": f"http://{self.host}"} if method == "POST" else {})
        line.request(method, path, body, usual | dict(headers or {}))
        answer = line.getresponse()
        found = answer.status, answer.read().decode(), answer.headers
        line.close()
        return found


Serve = Callable[..., Served]


@contextmanager
def serving(address: str = "127.0.0.1", may_tap: bool = True, port: int = 0, theme: str = "dark") -> Iterator[Served]:
    served = Served(TabletWishes(port, address, may_tap), theme)
    try:
        yield served
    finally:
        served.tablet.close()


@pytest.fixture
def page() -> Iterator[Served]:
    with serving() as served:
        yield served
