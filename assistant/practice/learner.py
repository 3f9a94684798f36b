"""What is typed: the trainer's own answers up to the first pull, and a learner who does everything right."""

from dataclasses import dataclass

from assistant.core import spoken
from assistant.core.asks import next_ask
from assistant.core.length import ZERO, Length, System
from assistant.core.room import Axis
from assistant.core.state import State

_PRESET = {
    "job": "job one",
    "construction": "tufted",
    "temperature": "skip the rest",
    "confirm": "yes",
    "square": "it is square",
    "openings": "no openings",
    "corner": "door left",
    "lay": "door to far",
}


@dataclass(frozen=True)
class Preset:
    """The room of a practice."""

    length: Length
    width: Length
    system: System

    def sentence(self, state: State) -> str:
        """The trainer's answer to the present question; '' where the learner has to answer."""
        ask = next_ask(state)
        if state.plan is not None or ask is None:
            return ""
        if ask.grammar == "figure":
            return "the same" if state.maker else "no figure"
        if ask.grammar == "size":
            side = self.width if Axis.DOOR_TO_FAR in state.sides else self.length
            return spoken.length(side, self.system)
        return _PRESET.get(ask.grammar, "")


def right_answer(state: State, shown: Length | None) -> str:
    """What a learner who follows the assistant says next, with the tape at `shown`."""
    ask = next_ask(state)
    asked = "" if ask is None else ask.grammar
    if asked in ("pull", "hold"):
        return _at_a_pull(state, shown) if asked == "pull" else spoken.length(shown, state.tape) if shown else "skip"
    return {"ready": "ready", "confirm": "yes", "close": "finish job", "paused": "resume", "skip": "doorway"}[asked]


def _at_a_pull(state: State, shown: Length | None) -> str:
    reading = state.record.reading
    if shown is None:
        return "it slipped"
    if shown == ZERO:
        return ""  # nothing to be read yet: another bite
    if reading != shown or state.record.slipped:
        return spoken.length(shown, state.tape)
    move = state.move_at(shown)
    # Told to bite, the trainer has done so; a mark that has not stirred is hooked as it is.
    return "hooked" if move is None or move.hooks else ""
