"""The engines that can be compared: our ears, any Vosk folder, PocketSphinx with the same grammars as the yardstick."""

from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.hearing.yardstick import PocketSphinxEars
from assistant.ports import Ears
from assistant.speech.ears import VoskEars


def open_engine(name: str, model: Path | None) -> Ears:
    """The ears called `name`; `model` is a Vosk model folder, a must for 'vosk'.

    Raises Refusal: BAD_MODEL for the folder or a missing engine, USAGE for a folder that is not asked for.
    """
    if name == "pocketsphinx":
        return PocketSphinxEars()
    if name == "vosk" and model is None:
        raise Refusal(Exit.USAGE, "engine vosk: no model; name its folder with --model")
    return VoskEars(model)
