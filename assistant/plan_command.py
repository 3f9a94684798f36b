"""`pullcall plan`: two typed sides or a room file -> the plan, as text, JSON or a drawing."""

import argparse
import json
from pathlib import Path

from assistant.core.band import Construction, figure_for
from assistant.core.compass import Axis, Corner
from assistant.core.order import Direction
from assistant.core.plan import Figures, Job, make_plan
from assistant.core.room import Room
from assistant.exits import Exit, Refusal
from assistant.plan_view import as_json, as_text
from assistant.record.plan_svg import plan_svg
from assistant.room_file import RoomFile, read_room_file
from assistant.settings import Settings
from assistant.typed_size import read_figure, read_sides

ENDING = ".toml"
_ONLY_SIDES = {"corner": Corner.DOOR_LEFT, "lay": Axis.DOOR_TO_FAR, "construction": Construction.TUFTED_SYNTHETIC}
"""Options for typed sides and what holds without them; a room file says these things itself."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The command's own options."""
    parser.add_argument(
        "room",
        nargs="+",
        help="length (door to far wall) and width, '16 ft 2 in' '12 ft' or '4.92 m' '3.66 m'; or one room file (.toml)",
    )
    for name, default in _ONLY_SIDES.items():
        parser.add_argument(
            f"--{name}", choices=[each.value for each in type(default)], help=f"default {default.value}"
        )
    parser.add_argument("--figure-length", metavar="PCT", help="maker's figure for the length: '1' or '1-1.5' per cent")
    parser.add_argument("--figure-width", metavar="PCT", help="maker's figure for the width")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument("--svg", type=Path, metavar="FILE", help="draw the plan into FILE as well")


def run(options: argparse.Namespace, settings: Settings) -> str:
    """The plan as text or JSON. Raises Refusal: BAD_SIZE for what cannot be a room or a figure, USAGE."""
    found = _room_file(options, settings) if _is_file(options.room) else RoomFile(_typed(options, settings))
    plan, beside = make_plan(found.job), (found.misclosure, found.conditions)
    if options.svg is not None:
        _draw(options.svg, plan_svg(plan))
    return json.dumps(as_json(plan, *beside), indent=2) if options.json else as_text(plan, *beside)


def _is_file(words: list[str]) -> bool:
    if len(words) == 1 and Path(words[0]).is_dir():
        raise Refusal(Exit.USAGE, f"{words[0]}: is a folder; name a room file ({ENDING}) in it")
    return len(words) == 1 and words[0].lower().endswith(ENDING)


def _room_file(options: argparse.Namespace, settings: Settings) -> RoomFile:
    for name in (*_ONLY_SIDES, "figure_length", "figure_width"):
        if getattr(options, name) is not None:
            option = name.replace("_", "-")
            raise Refusal(Exit.USAGE, f"--{option} belongs to two typed sides; write it into {options.room[0]} instead")
    return read_room_file(Path(options.room[0]), settings)


def _typed(options: argparse.Namespace, settings: Settings) -> Job:
    if len(options.room) != 2:
        raise Refusal(
            Exit.USAGE, "give length and width, such as '16 ft 2 in' '12 ft', or one room file ending in .toml"
        )
    length, width, system = read_sides(*options.room)
    construction = Construction(options.construction or _ONLY_SIDES["construction"].value)
    said = {Direction.LENGTH: options.figure_length, Direction.CROSS: options.figure_width}
    figures = Figures({each: figure_for(construction, read_figure(text)) for each, text in said.items()})
    corner, lay = Corner(options.corner or Corner.DOOR_LEFT.value), Axis(options.lay or Axis.DOOR_TO_FAR.value)
    order = settings.read_order()
    room = Room(length, width, system)
    return Job(room, corner, lay, figures, order, settings.head, settings.kit, settings.distance)


def _draw(file: Path, drawing: str) -> None:
    try:
        file.write_text(drawing, encoding="utf-8")
    except OSError as error:
        why = error.strerror
        raise Refusal(Exit.NOT_WRITABLE, f"{file}: the drawing cannot be written ({why}); name another file") from None
