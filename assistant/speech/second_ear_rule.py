"""Two ears: when the second is asked, and what becomes of what the first heard. Implements ports.Ears.

Asked where the first ear is unsure, and where a value must not be wrong. Two that agree are believed; two that disagree
mean 'ask again'. A second ear that is too slow is not waited for: then the first ear's own rule stands.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

from assistant.core.meaning import Meaning
from assistant.keeping import KeepingEars
from assistant.ports import Ears, Heard, Listener
from assistant.speech.grammars import CAREFUL, grammar
from assistant.speech.second_ear import LateError, Opinion, SecondEar
from assistant.speech.second_ear_files import weights_folder
from assistant.speech.understand import understand

SURE = 0.95
"""From this probability on the first ear is believed alone, unless the value must not be wrong."""
LIKELY = -8.0
"""Nats: a sentence that the second ear itself finds less likely than this it does not confirm."""
PATIENCE_S = 1.0
"""So long a speaker may wait more; with what comes before it the read-back still begins in about two seconds."""


class Second(Protocol):
    """What is needed of a second ear."""

    name: str

    def hear(self, sound: bytes, ask: str, patience_s: float) -> Opinion:
        """As SecondEar.hear."""


class Named(Ears, Protocol):
    """Ears with a name for the log."""

    name: str


def with_second_ear(first: Named, wanted: bool = True) -> Named:
    """`first`, and the second ear beside it where it is `wanted` and installed. Raises Refusal (BAD_MODEL)."""
    return TwoEars(first, SecondEar()) if wanted and weights_folder() is not None else first


@dataclass(frozen=True)
class Judged:
    """What is made of an utterance."""

    heard: Heard
    """Without a meaning where it is to be asked again."""
    asked: bool = False
    """Was the second ear asked?"""
    late: bool = False
    """Did it not answer in time?"""


def judge(heard: Heard, ask: str, second: Callable[[], Opinion]) -> Judged:
    """The rule of two ears for what the first has `heard`; `second` is called at most once."""
    meaning = heard.meaning or understand(heard.text, grammar(ask))  # or what it understood and did not dare to take
    if meaning is None or not _to_be_asked(heard, meaning, ask):
        return Judged(heard)
    try:
        opinion = second()
    except LateError:
        return Judged(heard, asked=True, late=True)
    agrees = opinion.score >= LIKELY and understand(opinion.text, grammar(ask)) == meaning
    if agrees and heard.meaning is not None:
        return Judged(heard, asked=True)
    # What the first ear would have offered to choose from was its doubt alone; this one is settled or said again.
    return Judged(replace(heard, meaning=meaning if agrees else None, maybe=()), asked=True)


def _to_be_asked(heard: Heard, meaning: Meaning, ask: str) -> bool:
    return heard.score < SURE or (ask in CAREFUL and bool(meaning.quantities))


class TwoEars:
    """The first ear hears everything, the second what the rule asks it."""

    def __init__(self, first: Named, second: Second, patience_s: float = PATIENCE_S) -> None:
        self._first, self._second, self._patience_s = KeepingEars(first), second, patience_s
        self.name = f"{first.name} with {second.name}"
        """For the log."""

    def listen(self, ask: str) -> "TwoEarListener":
        """As the port asks."""
        return TwoEarListener(self._first.listen(ask), ask, self._second, self._patience_s)


class TwoEarListener:
    """One utterance."""

    def __init__(self, first: Listener, ask: str, second: Second, patience_s: float) -> None:
        self._first, self._ask, self._second, self._patience_s = first, ask, second, patience_s
        self.judged: Judged | None = None
        """Once something was heard; for whoever measures."""

    @property
    def speaking(self) -> bool:
        """As the port asks."""
        return self._first.speaking

    def feed(self, block: bytes) -> Heard | None:
        """As the port asks."""
        return self._judge(self._first.feed(block))

    def finish(self) -> Heard | None:
        """As the port asks."""
        return self._judge(self._first.finish())

    def _judge(self, heard: Heard | None) -> Heard | None:
        if heard is None:
            return None
        self.judged = judge(heard, self._ask, lambda: self._second.hear(heard.sound, self._ask, self._patience_s))
        return replace(self.judged.heard, sound=b"")  # whether sound is kept is not for the ears to say
