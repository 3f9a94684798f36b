"""How far what was heard can be trusted: a probability calibrated on development voices, and its thresholds.

The recogniser's own word confidence is worth little under a strict grammar (a wrong word can carry 1). More is told by
how far the best sentence is ahead of the best with another meaning and of other speech; by what a second network says
of it (witness.py); by its length, for more of what others say sounds like one word than like five; and by what is left
after the last word: after half a sentence the ears wait longer (endpoint.py), whatever is made of it in the end.
Logistic regression; the figures stand in trust.toml and are fitted by `python -m assistant.hearing fit`. Where a second
ear is asked, another calibration with other traits takes its place (two_ears.py).
"""

import math
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.core.meaning import Meaning
from assistant.speech.grammars import CONFIRMED

ALTERNATIVES = 10
"""Sentences asked of the recogniser."""
NAMES = ("margin", "ahead", "brief", "pace", "backed", "tail", "weakest", "unsaid")
"""Of the traits of one ear, in their order."""
FARTHEST = 3.0
"""Margin where no other meaning came within the recogniser's lattice beam (--lattice-beam of model.conf)."""
CONTRARY = 10.0
"""Of another network's log likelihoods no more is counted, for or against."""
TAIL_S = 0.3
"""Stands for the sound after the last word where the words have no times: so much silence ends most utterances."""
NETWORKS = ("am/final.mdl", "witness/weights.npz")
SHOWN = 16
"""Digits of a checksum that are kept."""
SAID = "confidence"
"""Key of the recogniser's log likelihood in an alternative, up to a constant."""
TOLD = "witness"
"""Key of the witness's log likelihood in an alternative, up to a constant."""
WEAKEST, UNSAID = "weakest", "unsaid"
"""Keys of what it says of the words and pauses of the first of them."""
FILE = Path(__file__).with_name("trust.toml")

Traits = Mapping[str, float]
"""Name -> value."""
Alternative = Mapping[str, Any]
"""Vosk's: "text", SAID and, where its words have times, "result"; what other networks say of it comes to these."""
Judge = Callable[[str], object]
"""Text -> its meaning, None where it has none."""


@dataclass(frozen=True)
class Trust:
    """A fitted calibration."""

    weights: Mapping[str, float]
    """Of each trait it listens to."""
    bias: float
    accept: float
    """From this probability on, what was heard is taken."""
    ask_again: float
    """From here on it is worth asking 'did you say ...?'; below it was nothing understood."""
    model: str
    """The networks it was fitted to, as `acoustic_sum` tells them."""
    accept_at_once: float = 0.0
    """From this probability on at least, what no explicit yes follows is taken."""

    def probability(self, traits: Traits) -> float:
        """That the whole meaning is right, 0 to 1. Raises KeyError for a trait that is missing."""
        logit = self.bias + sum(weight * traits[name] for name, weight in self.weights.items())
        return 1 / (1 + math.exp(-max(-30.0, min(30.0, logit))))

    def accepts(self, score: float, meaning: Meaning | None, ask: str) -> bool:
        """Is `meaning`, which is right at `score`, taken at `ask`?"""
        yes_follows = ask in CONFIRMED and meaning is not None and bool(meaning.quantities)
        return score >= (self.accept if yes_follows else max(self.accept, self.accept_at_once))


def read_trust(file: Path = FILE, names: Sequence[str] = NAMES) -> Trust:
    """The calibration in `file`, of the traits called `names`. Raises KeyError for a value that is missing."""
    table = tomllib.loads(file.read_text(encoding="utf-8"))
    weights = {name: float(table["weights"][name]) for name in names}
    return Trust(weights, *(table[name] for name in ("bias", "accept", "ask_again", "model", "accept_at_once")))


def acoustic_sum(model: Path) -> str:
    """The checksum of a model folder's network as its SHA256SUMS tells it, and of its witness; '' where it has none."""
    try:
        lines = (model / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    found = [each.split()[0] for name in NETWORKS for each in lines if each.endswith(f" {name}")]
    return " ".join(each[:SHOWN] for each in found)


def traits(alternatives: Sequence[Alternative], seconds: float, judge: Judge) -> dict[str, float]:
    """What can be told of the first of `alternatives` over an utterance of `seconds`.

    margin  log likelihood ahead of the best with another meaning, at most FARTHEST; negative where it is behind
    ahead   the same ahead of what is no sentence
    brief   1 for one word, 1/2 for two, and so on
    pace    seconds of speech a letter
    backed  as margin, by the witness, between CONTRARY and its negative; 0 where no witness was asked
    tail    seconds of sound after the last word: who breaks off is waited for, and other speech is no word
    weakest the witness's log likelihood a frame of the word that it believes least, behind whatever else could have
            been said in its place; 0 where nothing fits better or no witness was asked
    unsaid  of the pause in which speech is likeliest: ahead of that speech, likewise bounded
    """
    best, rivals = alternatives[0], rivals_of(alternatives, judge)
    others = [each for each in alternatives[1:] if judge(each["text"]) is None]
    words = best.get("result", [])
    spoken = sum(each["end"] - each["start"] for each in words)
    letters = sum(len(each["word"]) for each in words)
    return {
        "margin": lead(best, rivals, SAID, FARTHEST),
        "ahead": lead(best, others, SAID, FARTHEST),
        "brief": 1 / len(best["text"].split()),
        "pace": spoken / max(letters, 1),
        "backed": bounded(lead(best, rivals, TOLD, CONTRARY if TOLD in best else 0.0)),
        "tail": seconds - words[-1]["end"] if words else TAIL_S,
        "weakest": bounded(best.get(WEAKEST, 0.0)),
        "unsaid": bounded(best.get(UNSAID, 0.0)),
    }


def rivals_of(alternatives: Sequence[Alternative], judge: Judge) -> list[Alternative]:
    """Those with another meaning than the first."""
    meant = judge(alternatives[0]["text"])
    return [each for each in alternatives[1:] if judge(each["text"]) not in (None, meant)]


def lead(best: Alternative, others: Sequence[Alternative], key: str, most: float) -> float:
    """How far `best` is ahead of each of `others` by `key`, at least; `most` where it is farther, or there is none."""
    return min([most, *(float(best.get(key, 0.0)) - float(each.get(key, 0.0)) for each in others)])


def bounded(told: float) -> float:
    """Between CONTRARY and its negative."""
    return max(-CONTRARY, min(CONTRARY, told))
