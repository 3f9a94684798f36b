"""The tubes in words: a build, what to change for the next one, and what to do where none reaches."""

from assistant.core import spoken
from assistant.core.deadman import Split
from assistant.core.kit import Build, Lack, Shortage, Tube
from assistant.core.length import Length, System, tape
from assistant.core.line import Line, Value, line
from assistant.core.tubes import change

_ONE_OF = (("feet", "foot"), ("inches", "inch"), ("centimetres", "centimetre"), ("millimetres", "millimetre"))


def size(length: Length, system: System) -> str:
    """A length before the thing that has it: 'four foot', 'one foot six inch', 'two metre'."""
    said = spoken.length(length, system)
    for many, one in (*_ONE_OF, ("metres", "metre")):
        said = said.replace(many, one)
    return said


def call_change(before: Build | Shortage | None, after: Build | Shortage | None, system: System) -> tuple[Line, ...]:
    """From the pull before to this one: tubes off, tubes on, hole. Nothing where nothing changes or no kit is set."""
    if after is None or after == before:
        return ()
    if isinstance(before, Shortage) and isinstance(after, Shortage) and before.each is not None:
        return *_shortage(after, system), *call_change(before.each, after.each, system)
    if not isinstance(before, Build) or not isinstance(after, Build):
        return describe(after, system)
    what = change(before, after)
    off = (line("tubes_off_one" if each.count == 1 else "tubes_off", **_figures(each)) for each in what.remove)
    on = (line("tubes_on_one" if each.count == 1 else "tubes_on", **_figures(each)) for each in what.add)
    return (*off, *on, *_hole(what.hole))


def describe(build: Build | Shortage | None, system: System) -> tuple[Line, ...]:
    """The whole build of a pull, or why there is none and what would help."""
    match build:
        case None:
            return (line("kit_not_set"),)
        case Shortage():
            told = _shortage(build, system)
            return told if build.each is None else (*told, line("tubes_each_part"), *describe(build.each, system))
        case _:
            has = (line("tubes_has_one" if each.count == 1 else "tubes_has", **_figures(each)) for each in build.tubes)
            return (*(tuple(has) or (line("tubes_none"),)), *_hole(build.hole))


def about_tubes(told: Line) -> bool:
    """Is it one of the lines above? Their lengths are the tubes', not the pull's."""
    return told.key.startswith(("tubes_", "reach_", "deadman_"))


def _figures(tube: Tube) -> dict[str, Value]:
    return {"count": tube.count, "size": size(tube.length, tube.tape), "length": tape(tube.length, tube.tape)}


def _hole(hole: int) -> tuple[Line, ...]:
    return (line("tubes_hole", number=hole),) if hole else ()


_LACKS = {Lack.TOO_LONG: "reach_over", Lack.TOO_SHORT: "reach_under", Lack.BETWEEN: "reach_between"}


def _shortage(what: Shortage, system: System) -> tuple[Line, ...]:
    told = line(_LACKS[what.lack], missing=what.missing.up_to(system.graduation))
    if what.parts < 2:
        return (told,)
    part = Split(what.span, what.parts).part.nearest(system.graduation)
    return told, line("deadman_parts", count=what.parts, part=part)
