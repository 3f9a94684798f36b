"""The engines that can be compared: our ears, any Vosk folder, PocketSphinx with the same grammars as the yardstick."""

from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.hearing.yardstick import PocketSphinxEars
from assistant.ports import Ears
from assistant.speech.ears import VoskEars
from assistant.speech.endpoint import EndRule
from assistant.speech.trust import NAMES, Trust

WHOLE = EndRule(begin_at=-1.0, go_on_at=-1.0, silence_s=1e6, longest_s=1e6, long_figure_s=1e6)
"""Everything is speech."""
UNJUDGED = Trust(dict.fromkeys(NAMES, 0.0), 0.0, 0.0, 0.0, "")
"""Takes everything, and tells its traits: for fitting."""


def open_engine(name: str, model: Path | None, *, whole: bool = False) -> Ears:
    """The ears called `name`; `model` is a Vosk model folder, a must for 'vosk'. 'unjudged' = ours, taking everything.

    `whole`: every recording from its first to its last sample, as if an end-pointer without fault had cut it.

    Raises Refusal: BAD_MODEL for the folder or a missing engine, USAGE for a folder that is not asked for.
    """
    if name == "pocketsphinx":
        return PocketSphinxEars(WHOLE if whole else None)
    if name == "vosk" and model is None:
        raise Refusal(Exit.USAGE, "engine vosk: no model; name its folder with --model")
    return VoskEars(model, WHOLE if whole else None, trust=UNJUDGED if name == "unjudged" else None)
