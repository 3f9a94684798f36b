"""Answers about the day: climate, unrolled, cushion, strip, gully, slab."""

from assistant.core import conditions, plausible
from assistant.core import events as ev
from assistant.core.caution import Caution
from assistant.core.conditions import Noted
from assistant.core.length import Length
from assistant.core.line import Line, Value, line
from assistant.core.meaning import Meaning, Quantity
from assistant.core.spoken import decimal, one_by_one, whole_sounds_alike
from assistant.core.state import State
from assistant.core.turn import Turn, unless

_WORDED = {conditions.NO_CUSHION: "cushion", conditions.NO_SLAB: "slab_humidity", "strip": "strip"}
"""The condition that an act without a figure answers."""


def condition(state: State, said: Meaning) -> Turn:
    """A condition as a figure: read back, told where it is outside its limit, never blocked."""
    kind, quantity = said.act, said.quantities[0]
    event = ev.ConditionNoted(kind, quantity)
    found = conditions.cautions({kind: Noted(quantity)})
    answer = Turn((event,), (*_read_back(kind, quantity), *(_told(each) for each in found)))
    return unless(plausible.condition(kind, quantity), event, answer)


def _read_back(kind: str, said: Quantity) -> tuple[Line, ...]:
    value: Value = Length.of(said) if said.unit == "in" else said.value
    return line(f"{kind}_noted_{said.unit}", value=value, shown=_shown(said)), *_digits(said)


def _shown(said: Quantity) -> str:
    return f"{float(said.value):g}"


def _digits(said: Quantity) -> tuple[Line, ...]:
    """Digit by digit where the whole number sounds like another: 'one three point five'."""
    number = int(said.value)
    if said.unit == "in" or not whole_sounds_alike(number):
        return ()
    _, *places = decimal(said.value, places=2).partition(" point ")
    return (line("digits", digits=one_by_one(number) + "".join(places)),)


def _told(caution: Caution) -> Line:
    key = "condition_outside" if conditions.outside(caution) else "condition_note"
    return line(key, text=caution.text, source=caution.source)


def worded(state: State, said: Meaning) -> Turn:
    """A condition in a word: which strip is down, no cushion, no slab."""
    word = said.word or said.act
    return Turn((ev.ConditionWorded(_WORDED[said.act], word),), (line(f"{word}_noted"),))


def skip(state: State) -> Turn:
    """A condition is left out: logged as not recorded."""
    waiting = state.conditions_waiting
    if not waiting:
        return Turn()
    return Turn((ev.ConditionNoted(waiting[0], None),), (line("condition_skipped"),))


def skip_rest(state: State, said: Meaning) -> Turn:
    """All that are still to be asked are left out, each logged as not recorded."""
    waiting = state.conditions_waiting
    if not waiting:
        return Turn()
    return Turn((ev.ConditionsSkipped(waiting),), (line("conditions_skipped", count=len(waiting)),))
