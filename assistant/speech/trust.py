"""How far what was heard can be trusted: a probability calibrated on development voices, and its two thresholds.

The recogniser's own word confidence is worth little under a strict grammar (a wrong word can carry 1). More is told by
how far the best sentence is ahead of the best with another meaning, and by how well it fits the sound.
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
NAMES = ("margin", "fit", "words", "pace")
"""Of the traits, in their order."""
FARTHEST = 3.0
"""Margin where no other meaning came within the recogniser's lattice beam (--lattice-beam of model.conf)."""
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
    """SHA-256 of the acoustic model it was fitted to."""

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
    """The checksum of a model folder's acoustic model as its SHA256SUMS tells it; '' where it has none."""
    try:
        lines = (model / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    except OSError:
        return ""
    return next((each.split()[0] for each in lines if each.endswith(" am/final.mdl")), "")


def traits(alternatives: Sequence[Mapping[str, Any]], seconds: float, judge: Judge) -> Traits:
    """What can be told of the best of `alternatives` (vosk's, best first) over an utterance of `seconds`.

    margin  log likelihood ahead of the best with another meaning, at most FARTHEST
    fit     log likelihood a second of sound
    words   number of words
    pace    seconds of speech a letter
    """
    best = alternatives[0]
    meant = judge(best["text"])
    others = [float(each["confidence"]) for each in alternatives[1:] if judge(each["text"]) != meant]
    margin = min([FARTHEST, *(float(best["confidence"]) - each for each in others)])
    words = best.get("result", [])
    spoken = sum(each["end"] - each["start"] for each in words)
    letters = sum(len(each["word"]) for each in words)
    return margin, float(best["confidence"]) / max(seconds, 0.1), float(len(words)), spoken / max(letters, 1)
