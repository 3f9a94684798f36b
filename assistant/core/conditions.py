"""The day's conditions against the published limits: cautions, never a block."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from assistant.core import trade
from assistant.core.band import Construction
from assistant.core.caution import Caution
from assistant.core.length import Length, inches, system_of, tape
from assistant.core.meaning import Quantity
from assistant.core.trade import Constant

KINDS = ("temperature", "humidity", "unrolled", "cushion", "strip", "gully", "slab_humidity", "slab_ph")
"""In the order they are asked."""
NO_CUSHION, NO_SLAB = "no_cushion", "no_slab"
"""Said instead of a figure: there is nothing to measure."""
ONE_ROW = "one_row"
"""Of one-inch strip; the others said are 'two_rows' and 'wide'."""
WIDE_STRIP = "wide strip"
"""What the plan's cautions about spans over 30 ft are about."""


@dataclass(frozen=True)
class Noted:
    """What was said of one condition; nothing at all = skipped, so not recorded."""

    quantity: Quantity | None = None
    word: str = ""
    """'one_row', 'two_rows', 'wide', 'no_cushion', 'no_slab' or ''."""

    @property
    def recorded(self) -> bool:
        """A figure or a word stands in the log."""
        return self.quantity is not None or self.word != ""


def waiting(construction: Construction | None, noted: Mapping[str, Noted]) -> tuple[str, ...]:
    """Kinds still to be asked: a cushion that is part of the carpet is not, nor the pH of a slab that is not there."""
    return tuple(each for each in KINDS if each not in noted and not needless(each, construction, noted))


def needless(kind: str, construction: Construction | None, noted: Mapping[str, Noted]) -> str:
    """Why `kind` is not asked, in words; '' where it is."""
    if kind == "cushion" and construction is Construction.ATTACHED_CUSHION:
        return "attached to the carpet"
    slab = noted.get("slab_humidity")
    return "no slab" if kind == "slab_ph" and slab is not None and slab.word == NO_SLAB else ""


def fahrenheit(quantity: Quantity) -> Fraction:
    """A temperature in degrees Fahrenheit, exact."""
    return quantity.value * Fraction(9, 5) + 32 if quantity.unit == "C" else quantity.value


def cautions(noted: Mapping[str, Noted]) -> tuple[Caution, ...]:
    """One caution per condition outside its limit; a skipped one is said to be not recorded.

    What is only worth a note is about something else than the bare kind; see `outside`.
    """
    found = [_not_recorded(kind) for kind, each in noted.items() if not each.recorded]
    for kind, each in noted.items():
        if each.quantity is not None and kind in _CHECKS:
            found += _CHECKS[kind](each.quantity)
    return tuple(found)


def outside(caution: Caution) -> bool:
    """Is this one about a limit that was passed, not a note beside it?"""
    return caution.about in KINDS


def with_strip(of_plan: Iterable[Caution], noted: Mapping[str, Noted]) -> tuple[Caution, ...]:
    """The plan's cautions, now that it is known which strip is down: one row is not enough for a span over 30 ft."""
    strip = noted.get("strip", Noted()).word
    known: list[Caution] = []
    for each in of_plan:
        if each.about != WIDE_STRIP or not strip:
            known.append(each)
        elif strip == ONE_ROW:
            known.append(Caution("strip", f"one row of strip is down; {each.text}", each.source))
    return tuple(known)


def _temperature(said: Quantity) -> list[Caution]:
    degrees = fahrenheit(said)
    shown = f"{float(degrees):g} F"
    if degrees < trade.AMBIENT_NEVER_BELOW.value:
        return [_outside("temperature", f"{shown}: never below 50 F", trade.AMBIENT_NEVER_BELOW)]
    if degrees < trade.AMBIENT_LEAST.value:
        return [_outside("temperature", f"{shown}: at least 65 F asked", trade.AMBIENT_LEAST)]
    if degrees > trade.AMBIENT_MOST.value:
        return [_outside("temperature", f"{shown}: at most 95 F asked", trade.AMBIENT_MOST)]
    return []


def _humidity(said: Quantity) -> list[Caution]:
    percent = said.value
    if percent > trade.HUMIDITY_MOST.value:
        return [_outside("humidity", f"{percent} % humidity: at most 65 % asked", trade.HUMIDITY_MOST)]
    if percent < trade.HUMIDITY_LEAST.value:
        return [_outside("humidity", f"{percent} % humidity: at least 10 % asked", trade.HUMIDITY_LEAST)]
    return []


def _unrolled(said: Quantity) -> list[Caution]:
    hours = said.value
    if hours < trade.UNROLLED_LEAST.value:
        return [_outside("unrolled", f"unrolled for {hours} h, at least 24 h asked", trade.UNROLLED_LEAST)]
    if hours > trade.UNROLLED_MOST.value:
        text = f"unrolled for {hours} h; the standard speaks of 24 h up to 72 h"
        return [_outside("unrolled: long", text, trade.UNROLLED_MOST)]
    return []


def _cushion(said: Quantity) -> list[Caution]:
    thick, shown = Length.of(said), _shown(said)
    if thick > inches(trade.CUSHION_MOST.value):
        text = f"cushion {shown}: at most 7/16 in asked, 3/8 in under berber or low profile"
        return [_outside("cushion", text, trade.CUSHION_MOST)]
    if thick > inches(trade.CUSHION_LOW_PROFILE.value):
        text = f"cushion {shown}: under berber or low profile carpet at most 3/8 in is asked"
        return [_outside("cushion: low profile", text, trade.CUSHION_LOW_PROFILE)]
    return []


def _gully(said: Quantity) -> list[Caution]:
    if Length.of(said) > inches(trade.GULLY_MOST.value):
        text = f"gully {_shown(said)}: at most 3/8 in asked, and slightly less than the carpet is thick"
        return [_outside("gully", text, trade.GULLY_MOST)]
    return []


def _slab_humidity(said: Quantity) -> list[Caution]:
    if said.value > trade.SLAB_HUMIDITY_MOST.value:
        text = f"{said.value} % humidity in the slab: at most 75 % asked"
        return [_outside("slab_humidity", text, trade.SLAB_HUMIDITY_MOST)]
    return []


def _slab_ph(said: Quantity) -> list[Caution]:
    if said.value > trade.SLAB_PH_MOST.value:
        return [_outside("slab_ph", f"slab at pH {float(said.value):g}: at most 9 asked", trade.SLAB_PH_MOST)]
    return []


_CHECKS: dict[str, Callable[[Quantity], list[Caution]]] = {
    "temperature": _temperature,
    "humidity": _humidity,
    "unrolled": _unrolled,
    "cushion": _cushion,
    "gully": _gully,
    "slab_humidity": _slab_humidity,
    "slab_ph": _slab_ph,
}


def _shown(said: Quantity) -> str:
    return tape(Length.of(said), system_of(said))


def _outside(about: str, text: str, limit: Constant) -> Caution:
    return Caution(about, text, limit.source)


def _not_recorded(kind: str) -> Caution:
    return Caution(kind, f"{name_of(kind)}: not recorded", "skipped by the installer")


def name_of(kind: str) -> str:
    """As people write it: 'slab pH'."""
    return kind.replace("_", " ").replace(" ph", " pH")
