"""How far what was heard can be trusted: a probability calibrated on development voices, and its two thresholds.

The recogniser's own word confidence is worth little under a strict grammar (a wrong word can carry 1). More is told by
how far the best sentence is ahead of the best with another meaning and of other speech, by how well it fits the sound,
by whether a word was too short to have been said: where a speaker breaks off, a strict grammar puts the missing word
into the last few hundredths of a second; by what a second network says of it (witness.py); and by what is left after
the last word: after half a sentence the ears wait longer (endpoint.py), whatever is made of it in the end.
Logistic regression; the figures stand in trust.toml and are fitted by `python -m assistant.hearing fit`.
"""

import math
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from assistant.speech.grammars import lexicon

ALTERNATIVES = 10
"""Sentences asked of the recogniser."""
NAMES = ("margin", "ahead", "fit", "words", "pace", "rushed", "backed", "apart", "tail", "weakest", "unsaid")
"""Of the traits, in their order."""
FARTHEST = 3.0
"""Margin where no other meaning came within the recogniser's lattice beam (--lattice-beam of model.conf)."""
CONTRARY = 10.0
"""Of the witness's log likelihoods no more is counted, for or against."""
NETWORKS = ("am/final.mdl", "witness/weights.npz")
SHOWN = 16
"""Digits of a checksum that are kept."""
TOLD = "witness"
"""Key of the witness's log likelihood in an alternative."""
WEAKEST, UNSAID = "weakest", "unsaid"
"""Keys of what it says of the words and pauses of the first of them."""
FRAME_S = 0.03
"""One output of the network: no phone can be shorter."""
SWALLOWED = frozenset("a an and are at by is it of point the to we".split())
"""Words that are short in any careful speech."""
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
    found = [
        each.split()[0]
        for name in ("am/final.mdl", "witness/weights.npz")
        for each in lines
        if each.endswith(f" {name}")
    ]
    return " ".join(each[:SHOWN] for each in found)


def traits(alternatives: Sequence[Mapping[str, Any]], seconds: float, judge: Judge) -> Traits:
    """What can be told of the first of `alternatives` (vosk's) over an utterance of `seconds`.

    margin  log likelihood ahead of the best with another meaning, at most FARTHEST; negative where it is behind
    ahead   the same ahead of what is no sentence
    fit     log likelihood a second of sound
    words   number of words
    pace    seconds of speech a letter
    rushed  1 where every phone of some word had but one frame, else 0; words that are swallowed apart
    backed  as margin, by the witness, between CONTRARY and its negative; 0 where no witness was asked
    apart   the witness's log likelihood ahead of other speech, likewise
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
    apart = best.get(TOLD, 0.0)
    words = best.get("result", [])
    spoken = sum(each["end"] - each["start"] for each in words)
    letters = sum(len(each["word"]) for each in words)
    rushed = float(any(map(_is_rushed, words)))
    fit, pace = likely / max(seconds, 0.1), spoken / max(letters, 1)
    tail = seconds - words[-1]["end"] if words else 0.0
    weak = _bounded(best.get(WEAKEST, 0.0)), _bounded(best.get(UNSAID, 0.0))
    return margin, ahead, fit, float(len(words)), pace, rushed, _bounded(backed), _bounded(apart), tail, *weak


def _bounded(told: float) -> float:
    return max(-CONTRARY, min(CONTRARY, told))


def _is_rushed(word: Mapping[str, Any]) -> bool:
    frames = round((word["end"] - word["start"]) / FRAME_S)
    return word["word"] not in SWALLOWED and frames <= _phones().get(word["word"], 0)


@cache
def _phones() -> Mapping[str, int]:
    """Of each word, in its shortest form."""
    return {word: min(map(len, forms)) for word, forms in lexicon().items()}
