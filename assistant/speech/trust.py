"""How far what was heard can be trusted: a probability calibrated on development voices, and its two thresholds.

The recogniser's own word confidence is worth little under a strict grammar (a wrong word can carry 1). More is told by
how far the best sentence is ahead of the best with another meaning and of other speech; by what a second network says
of it (witness.py); by its length, for more of what others say sounds like one word than like five; and by what is left
after the last word: after half a sentence the ears wait longer (endpoint.py), whatever is made of it in the end.
Logistic regression; the figures stand in trust.toml and are fitted by `python -m assistant.hearing fit`.
"""

import math
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ALTERNATIVES = 10
"""Sentences asked of the recogniser."""
NAMES = ("margin", "ahead", "brief", "pace", "backed", "tail", "weakest", "unsaid")
"""Of the traits, in their order."""
FARTHEST = 3.0
"""Margin where no other meaning came within the recogniser's lattice beam (--lattice-beam of model.conf)."""
CONTRARY = 10.0
"""Of the witness's log likelihoods no more is counted, for or against."""
NETWORKS = ("am/final.mdl", "witness/weights.npz")
SHOWN = 16
"""Digits of a checksum that are kept."""
TOLD = "witness"
"""Key of the witness's log likelihood in an alternative, up to a constant."""
WEAKEST, UNSAID = "weakest", "unsaid"
"""Keys of what it says of the words and pauses of the first of them."""
FILE = Path(__file__).with_name("trust.toml")

Traits = tuple[float, ...]
Judge = Callable[[str], object]
"""Text -> its meaning, None where it has none."""


@dataclass(frozen=True)
class Trust:
    """A fitted calibration."""

    weights: Mapping[str, float]
    """Of each trait."""
    bias: float
    accept: float
    """From this probability on, what was heard is taken."""
    ask_again: float
    """From here on it is worth asking 'did you say ...?'; below it was nothing understood."""
    model: str
    """The networks it was fitted to, as `acoustic_sum` tells them."""

    def probability(self, traits: Sequence[float]) -> float:
        """That the whole meaning is right, 0 to 1."""
        logit = self.bias + sum(self.weights[name] * value for name, value in zip(NAMES, traits, strict=True))
        return 1 / (1 + math.exp(-max(-30.0, min(30.0, logit))))


def read_trust(file: Path = FILE) -> Trust:
    """The calibration in `file`. Raises KeyError for a value that is missing."""
    table = tomllib.loads(file.read_text(encoding="utf-8"))
    weights = {name: float(table["weights"][name]) for name in NAMES}
    return Trust(weights, table["bias"], table["accept"], table["ask_again"], table["model"])


def acoustic_sum(model: Path) -> str:
    """The checksum of a model folder's network as its SHA256SUMS tells it, and of its witness; '' where it has none."""
    try:
        lines = (model / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    found = [each.split()[0] for name in NETWORKS for each in lines if each.endswith(f" {name}")]
    return " ".join(each[:SHOWN] for each in found)


def traits(alternatives: Sequence[Mapping[str, Any]], seconds: float, judge: Judge) -> Traits:
    """What can be told of the first of `alternatives` (vosk's) over an utterance of `seconds`.

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
    best, *others = alternatives
    meant, likely = judge(best["text"]), float(best["confidence"])
    margin, ahead, backed = FARTHEST, FARTHEST, CONTRARY if TOLD in best else 0.0
    for each in others:
        meaning, behind = judge(each["text"]), likely - float(each["confidence"])
        if meaning is None:
            ahead = min(ahead, behind)
        elif meaning != meant:
            margin = min(margin, behind)
            backed = min(backed, best.get(TOLD, 0.0) - each.get(TOLD, 0.0))
    words = best.get("result", [])
    spoken = sum(each["end"] - each["start"] for each in words)
    letters = sum(len(each["word"]) for each in words)
    brief, pace = 1 / max(len(words), 1), spoken / max(letters, 1)
    tail = seconds - words[-1]["end"] if words else 0.0
    weak = _bounded(best.get(WEAKEST, 0.0)), _bounded(best.get(UNSAID, 0.0))
    return margin, ahead, brief, pace, _bounded(backed), tail, *weak


def _bounded(told: float) -> float:
    return max(-CONTRARY, min(CONTRARY, told))
