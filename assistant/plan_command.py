"""`pullcall plan`: two typed sides -> the plan."""

import argparse
import json
import re
from fractions import Fraction

from assistant.core import plausible, trade
from assistant.core.band import Construction, Figure, figure_for
from assistant.core.length import Length, System, feet, tape
from assistant.core.meaning import Quantity
from assistant.core.order import Direction
from assistant.core.plan import Figures, Job, Plan, make_plan
from assistant.core.room import Axis, Corner, Room
from assistant.exits import Exit, Refusal
from assistant.plan_view import as_json, as_text
from assistant.settings import Settings
from assistant.units import read_length
from assistant.wording import messages


def add_options(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument("length", help="door wall to far wall: '16 ft 2 in' or '4.92 m'")
    parser.add_argument("width", help="left wall to right wall")
    parser.add_argument("--corner", choices=[each.value for each in Corner], default=Corner.DOOR_LEFT.value)
    parser.add_argument("--lay", choices=[each.value for each in Axis], default=Axis.DOOR_TO_FAR.value)
    parser.add_argument(
        "--construction", choices=[each.value for each in Construction], default=Construction.TUFTED_SYNTHETIC.value
    )
    parser.add_argument("--figure-length", metavar="PCT", help="maker's figure for the length: '1' or '1-1.5' per cent")
    parser.add_argument("--figure-width", metavar="PCT", help="maker's figure for the width")
    parser.add_argument("--json", action="store_true", help="print JSON")


def run(options: argparse.Namespace, settings: Settings) -> str:
    """The plan as text or JSON. Raises Refusal (BAD_SIZE) for what cannot be a room or a figure."""
    plan = _plan(options, settings)
    return json.dumps(as_json(plan), indent=2) if options.json else as_text(plan)


def _plan(options: argparse.Namespace, settings: Settings) -> Plan:
    length, system = _side(options.length, None)
    width, _ = _side(options.width, system)
    construction = Construction(options.construction)
    said = {Direction.LENGTH: options.figure_length, Direction.CROSS: options.figure_width}
    figures = Figures({each: figure_for(construction, read_figure(text)) for each, text in said.items()})
    room, corner, lay = Room(length, width, system), Corner(options.corner), Axis(options.lay)
    return make_plan(Job(room, corner, lay, figures, settings.read_order(), settings.head))


def _side(text: str, before: System | None) -> tuple[Length, System]:
    length, system = read_length(text)
    said = Quantity(length.inches, "in") if system is System.IMPERIAL else Quantity(length.mm, "mm")
    doubt = plausible.side(length, said, before)
    if doubt is not None:
        raise Refusal(Exit.BAD_SIZE, f"'{text}': {messages()[doubt.why][1]}{_cure(doubt.why, system)}")
    return length, system


def _cure(why: str, system: System) -> str:
    if why == "mixed_units":
        return ""  # says it already
    least, most = (tape(feet(each.value), system) for each in (trade.ROOM_SIDE_LEAST, trade.ROOM_SIDE_MOST))
    return f" A side has {least} to {most}."


_FIGURE = re.compile(r"\s*(\d{1,9}(?:[./]\d{1,9})?|\.\d{1,9})\s*%?\s*")


def read_figure(text: str | None) -> Figure | None:
    """A typed maker's figure, '1' or '1-1.5' per cent. Raises Refusal (BAD_SIZE) for what cannot be."""
    if text is None:
        return None
    try:
        least, *rest = (_per_cent(each) for each in text.split("-"))
        (most,) = rest or (None,)
    except (ValueError, ZeroDivisionError):
        raise Refusal(Exit.BAD_SIZE, f"'{text[:40]}' is no figure; write '1' or '1-1.5' per cent") from None
    if plausible.figure(least, most) is not None:
        raise Refusal(Exit.BAD_SIZE, f"'{text[:40]}': least must be above 0, most at least that, at most 10 per cent")
    return Figure(least, most, from_maker=True)


def _per_cent(text: str) -> Fraction:
    found = _FIGURE.fullmatch(text)
    if found is None:
        raise ValueError(text)
    return Fraction(found.group(1))
