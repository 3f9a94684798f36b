"""The engines that can be compared: our ears, one or two, any Vosk folder, PocketSphinx with the same grammars as the
yardstick.
"""

import time
from collections.abc import Mapping, Sequence
from math import inf
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.hearing.yardstick import PocketSphinxEars
from assistant.ports import Ears
from assistant.speech import two_ears
from assistant.speech.ears import VoskEars
from assistant.speech.endpoint import WHOLE, EndRule
from assistant.speech.second_ear import SecondEar
from assistant.speech.trust import NAMES, Trust

UNJUDGED = Trust(dict.fromkeys(NAMES, 0.0), 0.0, 0.0, 0.0, "")
"""Takes everything, and tells its traits: for fitting."""
UNJUDGED_TWO = Trust(dict.fromkeys(two_ears.NAMES, 0.0), 0.0, 0.0, 0.0, "")


class Unhurried:
    """A second ear that is never late, so that what is heard does not hang on what else the machine does."""

    def __init__(self, inner: two_ears.Second) -> None:
        self._inner, self.name, self.weights_sum = inner, inner.name, inner.weights_sum
        self.took = list[tuple[float, float]]()
        """Of each answer the processor's seconds, with what was prepared of its sound, and the clock's, without."""
        self._prepared = b"", 0.0

    def prepare(self, sound: bytes, patience_s: float) -> None:
        """As the port asks."""
        cpu = time.process_time()
        self._inner.prepare(sound, inf)
        self._prepared = sound, time.process_time() - cpu

    def hear(self, sound: bytes, ask: str, texts: Sequence[str], patience_s: float) -> Mapping[str, float]:
        """As the port asks."""
        (prepared, before), self._prepared = self._prepared, (b"", 0.0)
        cpu, wall = time.process_time() - (before if prepared == sound else 0.0), time.perf_counter()
        found = self._inner.hear(sound, ask, texts, inf)
        self.took.append((time.process_time() - cpu, time.perf_counter() - wall))
        return found


def open_engine(name: str, model: Path | None, *, whole: bool = False) -> Ears:
    """The ears called `name`; `model` is a Vosk model folder, a must for 'vosk', none for 'pocketsphinx'.

    'unjudged' = ours, taking everything; 'unjudged two ears' = those of 'two-ears', taking everything about which both
    chose.

    `whole`: every recording from its first to its last sample, as if an end-pointer without fault had cut it.

    Raises Refusal: BAD_MODEL for the folder, a missing engine or a model that the second ear is not asked beside, USAGE
    for a folder that is lacking or not taken.
    """
    if name == "pocketsphinx":
        if model is not None:
            raise Refusal(Exit.USAGE, f"model {model}: pocketsphinx brings its own; leave the folder out")
        return PocketSphinxEars(WHOLE if whole else None)
    if name == "vosk" and model is None:
        raise Refusal(Exit.USAGE, "engine vosk: no model; name its folder with --model (--against-model for the other)")
    rule = WHOLE if whole else None
    if name in ("two-ears", "unjudged two ears"):
        return open_two_ears(model, rule, UNJUDGED_TWO if name.startswith("unjudged") else None)[0]
    return VoskEars(model, rule, trust=UNJUDGED if name == "unjudged" else None)


def open_ours(model: Path | None, *, two: bool) -> VoskEars:
    """Ours, one or `two`. Raises Refusal as open_engine."""
    return open_two_ears(model)[0] if two else VoskEars(model)


def open_two_ears(
    model: Path | None = None, rule: EndRule | None = None, in_both: Trust | None = None
) -> tuple[VoskEars, Unhurried]:
    """Both ears and the second of them; arguments and refusals as of VoskEars and open_engine."""
    second = Unhurried(SecondEar())
    ears = VoskEars(model, rule, second=lambda: second, trust_in_both=in_both)
    if not ears.two:
        told = f"two ears: no calibration was fitted to {ears.name} with {second.name}"
        raise Refusal(Exit.BAD_MODEL, f"{told}; leave out --model, or run python -m assistant.hearing fit --second-ear")
    return ears, second
