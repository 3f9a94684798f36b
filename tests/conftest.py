"""The text engine: a whole job talked through by words, without sound; and the flag for nightly counts."""

from collections.abc import Callable

import pytest
from hypothesis import settings

from assistant.core import events as ev
from assistant.core.asks import Ask, next_ask
from assistant.core.fold import fold
from assistant.core.line import Line
from assistant.core.session import missed, respond
from assistant.core.state import State
from assistant.core.turn import Turn
from assistant.orders import read_order
from assistant.speech.grammars import grammar
from assistant.speech.understand import understand
from assistant.wording import word

settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")

SETUP = (
    "job four two seven",
    "tufted",
    "no figure",
    "the same",
    "seventy two degrees",
    "forty two percent",
    "thirty hours",
    "seven sixteenths",
    "one row",
    "three eighths",
    "no slab",
    "fourteen feet six inches",
    "yes",
    "twelve feet",
    "yes",
    "it is square",
    "no openings",
    "door left",
    "door to far",
    "ready",
)
"""Up to the first pull of a 14 ft 6 in by 12 ft room: cross pulls span 12 ft, their band is 1 1/2 to 2 1/8 in."""


class Talk:
    """One job by words."""

    def __init__(self) -> None:
        self.events: list[ev.Event] = [ev.Started("test", "none", read_order())]
        self.state: State = fold(self.events)
        self.turn = Turn()
        """What the last sentence led to."""

    @property
    def ask(self) -> Ask | None:
        return next_ask(self.state)

    @property
    def asks(self) -> str:
        """Name of the present ask's grammar, '' once the job is finished."""
        return self.ask.grammar if self.ask else ""

    def hear(self, *sentences: str) -> "Talk":
        """Each sentence at the present ask; one its grammar does not accept is a nomatch."""
        for text in sentences:
            assert self.ask is not None, f"'{text}': the job is finished"
            meaning = understand(text, grammar(self.asks))
            self.take(missed(self.state, "nomatch") if meaning is None else respond(self.state, meaning))
        return self

    def silence(self) -> "Talk":
        self.take(missed(self.state, "noinput"))
        return self

    def take(self, turn: Turn) -> None:
        self.turn = turn
        self.events += turn.events
        self.state = fold(turn.events, self.state)

    @property
    def keys(self) -> list[str]:
        """Messages of the last answer."""
        return [each.key for each in self.turn.lines]

    @property
    def said(self) -> list[str]:
        """The last answer in spoken words."""
        return [self.spoken(each) for each in self.turn.lines]

    @property
    def asked(self) -> list[str]:
        """The present question in spoken words."""
        return [self.spoken(each) for each in self.ask.lines] if self.ask else []

    def spoken(self, line: Line) -> str:
        return word(line, self.state.tape).say


@pytest.fixture(scope="session")
def new_talk() -> Callable[[], Talk]:
    """Begins a job."""
    return Talk


@pytest.fixture
def talk() -> Talk:
    """A job just begun."""
    return Talk()


@pytest.fixture
def pulling() -> Talk:
    """A job at its first pull."""
    return Talk().hear(*SETUP)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--nightly", action="store_true", help="the log's tests in the counts of a night, not of a change")


@pytest.fixture
def nightly(pytestconfig: pytest.Config) -> bool:
    """Are the large counts asked for?"""
    return bool(pytestconfig.getoption("--nightly"))


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str]) -> Callable[[str], None]:
    """Prints what was counted, past pytest's capture."""

    def print_it(text: str) -> None:
        with capsys.disabled():
            print(f" [{text}]", end="", flush=True)

    return print_it
