"""Answers before the first pull: job, carpet, figures, room, start."""

from fractions import Fraction

from assistant.core import conditions, plausible
from assistant.core import events as ev
from assistant.core.band import Construction, Figure, figure_for
from assistant.core.fold import apply
from assistant.core.length import Length, system_of
from assistant.core.line import Line, line
from assistant.core.meaning import Meaning
from assistant.core.order import Direction
from assistant.core.room import Axis, Corner
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
    return _proposed(state, _figure_direction(state), Figure(least, most, from_maker=True))


def _proposed(state: State, direction: Direction, figure: Figure) -> Turn:
    event = ev.FigureSet(direction, figure)
    doubt = plausible.figure(figure.least, figure.most, state.patterns.get(direction, Fraction(0)))
    return unless(doubt, event, propose(event, "confirm_figure"))


def pattern(state: State, said: Meaning) -> Turn:
    """What the maker asks for the pattern, on top of the figure that is asked for now; needs an explicit yes."""
    points = said.quantities[0].value
    event = ev.PatternSet(_figure_direction(state), points)
    return unless(plausible.pattern(points), event, propose(event, "confirm_pattern"))


def with_pattern(state: State, event: ev.FigureSet) -> tuple[Line, ...]:
    """What the figure of `event` comes to with the direction's pattern; nothing where there is none."""
    points = state.patterns.get(event.direction)
    if points is None or state.construction is None:
        return ()
    figure = figure_for(state.construction, event.figure, points)
    return (line("pattern_without_figure"),) if figure is None else (line("with_pattern", least=figure.least),)


def no_figure(state: State, said: Meaning) -> Turn:
    """The maker gives none for this direction."""
    event = ev.FigureSet(_figure_direction(state), None)
    default = state.construction is Construction.TUFTED_SYNTHETIC
    return Turn((event,), (line("figure_default" if default else "figure_none"), *with_pattern(state, event)))


def same_figure(state: State, said: Meaning) -> Turn:
    """As for the direction before."""
    if Direction.LENGTH not in state.maker:
        return refuse("nothing_to_repeat")
    known = state.maker[Direction.LENGTH]
    if known is not None:
        return _proposed(state, Direction.CROSS, known)
    event = ev.FigureSet(Direction.CROSS, None)
    return Turn((event,), (line("noted"), *with_pattern(state, event)))


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
    axis = Axis(said.word)
    plan = apply(state, ev.LayChosen(axis)).plan
    if plan is None:
        return Turn()
    event = ev.LayChosen(axis, plan.fingerprint)
    told = line("plan_told", pulls=len(plan.pulls), passes=len(plan.passes))
    found = conditions.with_strip(plan.cautions, state.conditions)
    shown = tuple(line("plan_caution", text=each.text, source=each.source) for each in found)
    count = (line("plan_cautions", count=len(shown)),) if shown else ()
    return Turn((event,), (told, *count, *shown))


def ready(state: State, said: Meaning) -> Turn:
    """Ready for the pulls of the present pass."""
    here = state.present_pass
    return Turn() if here is None else Turn((ev.PassBegun(here.number),))
