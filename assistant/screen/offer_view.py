"""What was offered to choose from, as it is written on keys. Pure."""

from dataclasses import replace

from assistant.core.length import Length, system_of, tape
from assistant.core.meaning import Candidate, Quantity
from assistant.screen.choices import Choice
from assistant.screen.panel import Content

_UNITS = {"pct": " %", "F": " °F", "C": " °C", "h": " h", "n": "", "deg": "°", "pH": " pH"}
_LONGEST = 16
"""Signs of what is drawn across the screen; longer sentences stand on the keys alone."""


def content(offered: tuple[Candidate, ...], title: str, hint: str) -> Content:
    """The large part: what may have been said."""
    value = " / ".join(written(offered))
    long = len(value) > _LONGEST
    if len(offered) == 1:
        return (
            Content("", "Yes or no?", beside=value) if long else Content("Yes or no?", value, beside="as it was heard")
        )
    return Content("", title, beside=hint) if long else Content(title, value, beside=hint)


def keys(offered: tuple[Candidate, ...], own: tuple[Choice, ...]) -> tuple[Choice, ...]:
    """The ask's big keys with what they stand for on them."""
    if len(offered) < 2:
        return own
    labels = [*written(offered), *(each.label for each in own[len(offered) :])]
    return tuple(replace(key, label=label) for key, label in zip(own, labels, strict=True))


def written(offered: tuple[Candidate, ...]) -> tuple[str, ...]:
    """Each by its figures, '15 mm', where they tell them apart; else in its words."""
    figures = tuple(each.meaning.digits or " x ".join(map(_figure, each.meaning.quantities)) for each in offered)
    told = all(figures) and len(set(figures)) == len(figures)
    return figures if told else tuple(each.text.capitalize() for each in offered)


def _figure(said: Quantity) -> str:
    if said.unit in ("in", "mm"):
        return tape(Length.of(said), system_of(said))
    return f"{float(said.value):.4g}{_UNITS[said.unit]}"
