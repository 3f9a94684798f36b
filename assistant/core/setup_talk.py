"""Answers before the first pull: job, carpet, conditions, room, start."""

from fractions import Fraction

from assistant.core import conditions, plausible
from assistant.core import events as ev
from assistant.core.band import Construction, Figure
from assistant.core.fold import apply
from assistant.core.length import Length, system_of
from assistant.core.line import Line, line
from assistant.core.meaning import Meaning
from assistant.core.order import Direction
from assistant.core.room import Axis, Corner
from assistant.core.spoken import one_by_one, whole_sounds_alike
from assistant.core.state import State
from assistant.core.turn import Turn, propose, refuse, unless


def job(state: State, said: Meaning) -> Turn:
    """The job's number, spoken digit by digit."""
    return Turn((ev.JobNamed(said.digits),), (line("job_named", digits=" ".join(said.digits)),))


def construction(state: State, said: Meaning) -> Turn:
    """How the carpet is made."""
    return Turn((ev.ConstructionChosen(Construction(said.word)),), (line(f"construction_{said.word}"),))


def _figure_direction(state: State) -> Direction:
    return Direction.LENGTH if Direction.LENGTH not in state.maker else Direction.CROSS


def figure(state: State, said: Meaning) -> Turn:
    """The maker's figure; needs an explicit yes."""
    least, *rest = (each.value for each in said.quantities)
    most = rest[0] if rest else None
    event = ev.FigureSet(_figure_direction(state), Figure(least, most, from_maker=True))
    return unless(plausible.figure(least, most), event, propose(event, "confirm_figure"))


def no_figure(state: State, said: Meaning) -> Turn:
    """The maker gives none for this direction."""
    event = ev.FigureSet(_figure_direction(state), None)
    default = state.construction is Construction.TUFTED_SYNTHETIC
    return Turn((event,), (line("figure_default" if default else "figure_none"),))


def same_figure(state: State, said: Meaning) -> Turn:
    """As for the direction before."""
    if Direction.LENGTH not in state.maker:
        return refuse("nothing_to_repeat")
    known = state.maker[Direction.LENGTH]
    event = ev.FigureSet(Direction.CROSS, known)
    return Turn((event,), (line("noted"),)) if known is None else propose(event, "confirm_figure")


def condition(state: State, said: Meaning) -> Turn:
    """Temperature, humidity or hours unrolled."""
    quantity = said.quantities[0]
    event = ev.ConditionNoted(said.act, quantity)
    read_back = (line(f"{said.act}_noted_{quantity.unit}", value=quantity.value), *_digits(quantity.value))
    answer = Turn((event,), (*read_back, *_outside(said.act, event)))
    return unless(plausible.condition(said.act, quantity), event, answer)


def _digits(value: Fraction) -> tuple[Line, ...]:
    """Conditions are said in whole numbers."""
    number = int(value)
    return (line("digits", digits=one_by_one(number)),) if whole_sounds_alike(number) else ()


def _outside(kind: str, event: ev.ConditionNoted) -> tuple[Line, ...]:
    found = conditions.cautions({kind: event.quantity})
    return tuple(line("condition_outside", text=each.text, source=each.source) for each in found)


def size(state: State, said: Meaning) -> Turn:
    """One side of the room or both; a wrong size is the costliest mistake, so it needs an explicit yes."""
    lengths = [Length.of(each) for each in said.quantities]
    for length, quantity in zip(lengths, said.quantities, strict=True):
        doubt = plausible.side(length, quantity, state.system)
        if doubt is not None:
            return refuse(doubt.why)
    system = system_of(said.quantities[0])
    if len(lengths) == len(Axis):
        return propose(ev.SidesSet(lengths[0], lengths[1], system), "confirm_sides")
    axis = next(each for each in Axis if each not in state.sides)
    return propose(ev.SideSet(axis, lengths[0], system), f"confirm_side_{axis.value}")


def corner(state: State, said: Meaning) -> Turn:
    """Where the job starts."""
    return Turn((ev.CornerChosen(Corner(said.word)),), (line("corner_chosen", corner=said.word.replace("_", " ")),))


def lay(state: State, said: Meaning) -> Turn:
    """Which way the carpet's length runs; makes the plan and tells it."""
    event = ev.LayChosen(Axis(said.word))
    plan = apply(state, event).plan
    if plan is None:
        return Turn()
    told = line("plan_told", pulls=len(plan.pulls), passes=len(plan.passes))
    shown = tuple(line("plan_caution", text=each.text, source=each.source) for each in plan.cautions)
    count = (line("plan_cautions", count=len(shown)),) if shown else ()
    return Turn((event,), (told, *count, *shown))


def ready(state: State, said: Meaning) -> Turn:
    """Ready for the pulls of the present pass."""
    here = state.present_pass
    return Turn() if here is None else Turn((ev.PassBegun(here.number),))


def skip(state: State) -> Turn:
    """A condition is left out: logged as not recorded."""
    waiting = [kind for kind in conditions.KINDS if kind not in state.conditions]
    if not waiting:
        return Turn()
    return Turn((ev.ConditionNoted(waiting[0], None),), (line("condition_skipped"),))
