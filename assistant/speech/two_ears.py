"""Two ears: when the second is asked, and what both together make of an utterance.

Asked where the first ear is unsure or found no sentence, and at numbers, which must not be wrong. The second scores the
first's sentences and may bring some of its own. What all networks together find likeliest is chosen, and trusted as far
as a calibration of its own tells. docs/decisions/0012-second-ear.md.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from assistant.core.meaning import Meaning
from assistant.ports import RATE
from assistant.speech import trust
from assistant.speech.grammars import ATTENTION
from assistant.speech.trust import (
    CONTRARY,
    FARTHEST,
    SAID,
    TOLD,
    Alternative,
    Judge,
    Trust,
    acoustic_sum,
    bounded,
    lead,
    rivals_of,
)
from assistant.speech.witness_paths import NEVER

SURE = 0.95
"""From this probability on the first ear is believed alone, unless it heard a number."""
DISSENT = 2.0
"""Nats: where the second ear finds another meaning likelier by more, the first is not sure any more."""
SECOND_SHARE = 3.0
"""A nat of the second ear counts like so many of the first and of the witness, whose sums over frames run higher."""
FAR = 25.0
"""Nats behind, by all together: what lies farther is not offered in doubt. The right one of 29 development sentences of
which another was chosen lay 24.8 behind at most."""
UNSCORED = -60.0
"""Nats: the least of the second ear, and of a sentence that it has no score for."""
LEAST = -30.0
"""Of what it thinks of the chosen sentence no less is counted."""
PATIENCE_S = 1.0
"""So long a speaker may wait more; with what comes before it the read-back still begins in about two seconds."""
SPARE_S = 0.15
"""So long it may listen in a silence whose end is waited for: 0.06 s are there, the rest comes later."""
LATE_IN_A_ROW = 2
"""One late answer may be chance; after so many it is left unasked, for each was waited for in vain."""
UNASKED = 20
"""Questions that it is then spared: the next one shows whether it is still late. A design choice."""
TRIED_S = 3
"""Of silence, to try how fast it is: as long as an utterance."""
SECOND = "second"
"""Key of the second ear's log probability in an alternative, nats."""
UNHEARD = "unheard"
"""Key: 1 in a sentence that the first ear did not propose."""
NAMES = ("margin", "ahead", "brief", "backed", "tail", "weakest", "unsaid", "seconded", "likely", "unheard")
"""Of the traits of two ears, in their order in the file. No pace: a sentence of the second ear has no times."""
FILE = Path(__file__).with_name("trust_two_ears.toml")


class LateError(Exception):
    """The time is up and the second ear does not know yet."""


class Second(Protocol):
    """What is needed of a second ear."""

    name: str
    weights_sum: str
    """Of its weights: a calibration is fitted to them."""

    def prepare(self, sound: bytes, patience_s: float) -> None:
        """It may be asked about `sound` soon; it takes no longer than `patience_s`."""

    def hear(self, sound: bytes, ask: str, texts: Sequence[str], patience_s: float) -> Mapping[str, float]:
        """Sentence -> log probability, nats: of `texts`, and of sentences of its own. Raises LateError."""


class Timely:
    """A second ear that is asked only while it answers in time. Implements Second."""

    def __init__(self, ear: Second) -> None:
        self._ear, self.name, self.weights_sum = ear, ear.name, ear.weights_sum
        self._late = self._spared = 0

    def prepare(self, sound: bytes, patience_s: float) -> None:
        """As the port asks."""
        if not self._spared:
            self._ear.prepare(sound, patience_s)

    def hear(self, sound: bytes, ask: str, texts: Sequence[str], patience_s: float) -> Mapping[str, float]:
        """As the port asks; late at once where it is left unasked."""
        if self._spared:
            self._spared -= 1
            raise LateError
        try:
            found = self._ear.hear(sound, ask, texts, patience_s)
        except LateError:
            self._late += 1
            self._spared = UNASKED if self._late >= LATE_IN_A_ROW else 0
            raise
        self._late = 0
        return found


def is_late(ear: Second) -> bool:
    """Is it too slow for this machine? It is asked about silence, which takes it as long as speech."""

    def late() -> bool:
        try:
            ear.hear(bytes(2 * RATE * TRIED_S), "pull", (), PATIENCE_S)
        except LateError:
            return True
        return False

    return all(late() for _ in range(LATE_IN_A_ROW))


@dataclass(frozen=True)
class SecondOpinion:
    """A second ear, and how far both are trusted together."""

    ear: Second
    trust: Trust


def both_sums(model: Path, weights_sum: str) -> str:
    """What a calibration of two ears names as its model: the networks of the folder, and the second ear's weights."""
    return f"{acoustic_sum(model)} {weights_sum}"


def to_be_asked(text: str, meaning: Meaning | None, score: float, ask: str) -> bool:
    """Is the second ear asked about `text` of the first, which may mean something and is right at `score`?

    Where the first is unsure or understood nothing, and at numbers: a wrong one is worse than none.
    """
    if ask == ATTENTION:  # nothing was fitted to the talk before an attention word
        return False
    if meaning is None:
        return bool(text)
    return score < SURE or bool(meaning.quantities or meaning.digits)


def stands(score: float, meaning: Meaning | None, second: Mapping[str, float], judge: Judge) -> bool:
    """Is the first ear sure of `meaning`, and does the `second` not contradict it?

    `second`: sentence -> the second ear's log probability.
    """
    ours = max((likely for text, likely in second.items() if judge(text) == meaning), default=UNSCORED)
    other = max((likely for text, likely in second.items() if judge(text) != meaning), default=UNSCORED)
    return score >= SURE and other - ours <= DISSENT


def fused(
    alternatives: Sequence[Alternative],
    second: Mapping[str, float],
    witness: Callable[[Sequence[str]], Sequence[float]],
) -> list[dict[str, Any]]:
    """All sentences that either ear proposed, the likeliest by all networks first.

    `alternatives`: the first ear's; sentences are those the witness was asked about. `second`: sentence -> the second
    ear's log probability; of those the first did not propose the `witness` is asked. What the sound is too short for is
    left out.
    """
    said = [float(each[SAID]) for each in alternatives] or [0.0]
    least = min(*said, max(said) - FARTHEST)
    new = [text for text in second if text not in {each["text"] for each in alternatives}]
    found = [
        *({**each} for each in alternatives if TOLD in each),
        *({"text": text, SAID: least, TOLD: told, UNHEARD: 1.0}
          for text, told in zip(new, witness(new), strict=True) if told > NEVER / 2),
    ]  # fmt: skip
    for each in found:
        each[SECOND] = max(second.get(str(each["text"]), UNSCORED), UNSCORED)
    return sorted(found, key=lambda each: -_by_all(each))


def _by_all(each: Alternative) -> float:
    return float(each[SAID]) + float(each[TOLD]) + SECOND_SHARE * float(each[SECOND])


def near(alternatives: Sequence[Alternative]) -> list[Alternative]:
    """Of sentences that all have told of, those not FAR behind the first; where only one ear heard, all of them."""
    best = alternatives[0] if alternatives else {}
    if SECOND not in best:
        return [*alternatives]
    return [each for each in alternatives if SECOND in each and _by_all(best) - _by_all(each) <= FAR]


def traits(alternatives: Sequence[Alternative], seconds: float, judge: Judge) -> dict[str, float]:
    """As trust.traits of the first of `alternatives`, which all carry what the second ear said or are no sentence; and

    seconded  as margin, by the second ear, between CONTRARY and its negative
    likely    its log probability, at least LEAST
    unheard   1 where the first ear did not propose it, else 0
    """
    best = alternatives[0]
    return {
        **trust.traits(alternatives, seconds, judge),
        "seconded": bounded(lead(best, rivals_of(alternatives, judge), SECOND, CONTRARY)),
        "likely": max(best[SECOND], LEAST),
        "unheard": best.get(UNHEARD, 0.0),
    }
