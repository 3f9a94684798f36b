"""Room files: the documented example, four walls, outlines, and what is refused by name."""

import json
import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.core.length import feet, inches
from assistant.core.order import Direction
from assistant.core.plan import make_plan
from assistant.exits import Exit, Refusal
from assistant.room_file import RoomFile, read_room_file
from assistant.settings import Settings

PAGE = Path(__file__).parent.parent / "docs" / "room-file.md"
EXAMPLE = "\n".join(
    line[4:]
    for line in re.search(r"left hand:\n\n(.*?)\n!\[", PAGE.read_text("utf-8"), re.S)[1].splitlines()  # type: ignore[index]
)
L_SHAPE = """
[[room.wall]]
length = "10 ft"
[[room.wall]]
length = "9 ft"
[[room.wall]]
length = "4 ft"
turn = "left"
[[room.wall]]
length = "3 ft"
[[room.wall]]
length = "6 ft"
[[room.wall]]
length = "12 ft"
"""


def read(folder: Path, text: str, settings: Settings | None = None) -> RoomFile:
    file = folder / "room.toml"
    file.write_text(text, encoding="utf-8")
    return read_room_file(file, settings or Settings())


def test_the_documented_example_is_read_whole(tmp_path: Path) -> None:
    found = read(tmp_path, EXAMPLE)
    plan = make_plan(found.job)
    assert found.misclosure is not None and found.misclosure.distance == inches("1/2")
    assert found.job.order.name == "length first" and plan.pulls[0].angle == 15
    length = found.job.figures.of(Direction.LENGTH)
    assert length is not None and (float(length.least), float(length.most or 0)) == (1.25, 1.75)
    assert found.job.kit is not None and found.job.kit.pieces == 6
    assert set(found.conditions) == {"temperature", "humidity", "strip", "gully"}
    assert {each.flag for each in plan.pulls} == {"", "doorway", "hearth"}


def test_every_documented_key_is_one_the_reader_knows(tmp_path: Path) -> None:
    """The reader lists its keys when it meets an unknown one; each is in the page, and none is left out."""
    page = PAGE.read_text("utf-8")
    for text in (
        "x = 1\n",
        "[room]\nx = 1\nlength = '9 ft'\nwidth = '9 ft'\n",
        "[carpet]\nx = 1\n",
        "[conditions]\nx = 1\n",
    ):
        whole = text if "[room]" in text else text + "[room]\nlength = '9 ft'\nwidth = '9 ft'\n"
        with pytest.raises(Refusal, match="unknown key") as refusal:
            read(tmp_path, whole)
        for key in str(refusal.value).split("allowed: ")[1].split(", "):
            assert re.search(rf"\b{key}\b", page), key


def test_four_walls_out_of_square(tmp_path: Path) -> None:
    found = read(tmp_path, "[room]\nlength = '16 ft'\nwidth = '12 ft'\nright = '16 ft 2 in'\n")
    spans = [each.span for each in make_plan(found.job).pulls if each.direction is Direction.LENGTH]
    assert feet(16) < spans[0] < spans[-1] < feet(16, 2)
    steps = {two.inches - one.inches for one, two in pairwise(spans)}
    assert max(steps) - min(steps) < inches("1/1000").inches
    assert "out of square along the length: eats 2 in" in make_plan(found.job).cautions[0].text


def test_an_island_and_an_own_order_beside_the_file(tmp_path: Path) -> None:
    (tmp_path / "ours.toml").write_text(
        'name = "ours"\n[[pass]]\ndirection = "cross"\npart = "rest"\n[[pass]]\ndirection = "length"\npart = "rest"\n',
        encoding="utf-8",
    )
    island = "[[room.island]]\ncorners = [['5 ft', '5 ft'], ['7 ft', '5 ft'], ['6 ft', '8 ft']]\n"
    found = read(tmp_path, "order = 'ours.toml'\n[room]\nlength = '16 ft'\nwidth = '12 ft'\n" + island)
    plan = make_plan(found.job)
    assert found.job.order.name == "ours" and len(found.job.room.islands) == 1
    assert "island" in {each.flag for each in plan.pulls}


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("", "room.length = missing: give length and width"),
        ("[room]\nlength = '9 ft'\n", "room.width = missing"),
        ("[room]\nlength = 9\nwidth = '9 ft'\n", "room.length = 9: must be a length such as"),
        ("[room]\nlength = '9 ft'\nwidth = '3 m'\n", "Feet or metres? This room is in feet"),
        ("[room]\nlength = '9 ft'\nwidth = '400 ft'\n", "too long"),
        (
            "[room]\nlength = '9 ft'\nwidth = '9 ft'\nright = '40 ft'\n",
            "too unlike 9 ft across; give such a room wall by wall",
        ),
        ("corner = 'middle'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "corner = 'middle': must be one of door_left"),
        ("order = 'spiral'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "no order is called 'spiral'"),
        ("[carpet]\nfigure_length = '2-1'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "carpet.figure_length = '2-1'"),
        ("[carpet]\npattern_width = '9'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "carpet.pattern_width = '9'"),
        ("[conditions]\nhumidity = 'wet'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "conditions.humidity = 'wet'"),
        ("[conditions]\nslab_ph = '15'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "conditions.slab_ph = '15'"),
        ("[kit]\nhandle = '3 in'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "kit.handle: unknown key; allowed: head"),
        ("[kit]\nhead = '1 in'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "kit.head: 1 in must be from 6 in"),
        (
            L_SHAPE.replace("12 ft", "13 ft"),
            "the walls do not close by 1 ft, at most 2 3/4 in is allowed; check wall 6",
        ),
        (L_SHAPE.replace('turn = "left"', ""), "must add up to 360"),
        (L_SHAPE.replace('"4 ft"', '"0 ft"'), "room.wall 3.length = '0 ft'"),
        (L_SHAPE.replace('"left"', '"left"\nangle = 180'), "room.wall 3.angle = 180: must be degrees"),
        (L_SHAPE.replace('"left"', '"left"\nangle = true'), "room.wall 3.angle = True: must be degrees"),
        (L_SHAPE.replace('"left"', '"left"\nangle = nan'), "room.wall 3.angle = nan: must be degrees"),
        (L_SHAPE.replace('"left"', '"left"\nangle = "x"'), "room.wall 3.angle = 'x': must be degrees"),
        (
            L_SHAPE + "[[room.opening]]\nwall = true\nto = '3 ft'\n",
            "room.opening 1.wall = True: must be a wall's number",
        ),
        ("[conditions]\nhumidity = '45 h'\n[room]\nlength = '9 ft'\nwidth = '9 ft'\n", "conditions.humidity = '45 h'"),
        (L_SHAPE.replace('"left"', '"up"'), "room.wall 3.turn = 'up': must be one of left, right"),
        (L_SHAPE.replace('"3 ft"', '"1 m"'), "room.wall 4.length = '1 m': feet or metres?"),
        (L_SHAPE + "[[room.opening]]\nwall = 9\nto = '3 ft'\n", "stands in wall 9; the room has walls 1 to 6"),
        (L_SHAPE + "[[room.opening]]\nwall = 1\nto = '30 ft'\n", "runs from 0 in to 30 ft"),
        (
            L_SHAPE + "[[room.opening]]\nwall = 'far'\nto = '3 ft'\n",
            "room.opening 1.wall = 'far': must be a wall's number",
        ),
        (L_SHAPE + "[[room.island]]\ncorners = [['1 ft', '1 ft']]\n", "island 1 is no closed shape"),
        (L_SHAPE + "[[room.island]]\ncorners = [['1 ft', 'x']]\n", "must be pairs of lengths"),
        (L_SHAPE + "[[room.island]]\ncorners = [['1 ft']]\n", "must be pairs such as"),
        ("room = 3\n", "room = 3: must be a table"),
        ("[room]\nwall = 3\n", "room.wall = 3: must be one [[room.wall]] or more"),
        ("[room]\nwall = [3]\n", "room.wall = [3]: must be one [[room.wall]] or more"),
        ("[room\n", "cannot be read"),
        ("x = " + "[" * 5000, "cannot be read"),
    ],
)
def test_what_cannot_be_is_named(tmp_path: Path, text: str, named: str) -> None:
    with pytest.raises(Refusal) as refusal:
        read(tmp_path, text)
    assert refusal.value.code == Exit.BAD_SIZE
    assert named in refusal.value.line and "room.toml" in refusal.value.line


def test_a_missing_file_a_folder_and_a_huge_one_are_refused(tmp_path: Path) -> None:
    huge = tmp_path / "huge.toml"
    huge.write_bytes(b"#" * 1_000_001)
    for file, why in ((tmp_path / "none.toml", "No such file"), (tmp_path, "directory"), (huge, "longer than")):
        with pytest.raises(Refusal, match=why):
            read_room_file(file, Settings())


def test_the_command_draws_and_prints(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "room.toml").write_text(L_SHAPE, encoding="utf-8")
    drawing = tmp_path / "room.svg"
    assert main(["plan", str(tmp_path / "room.toml"), "--json", "--svg", str(drawing)]) == Exit.DONE
    found = json.loads(capsys.readouterr().out)
    pulls = [pull for each in found["passes"] for pull in each["pulls"]]
    tree = ET.parse(drawing).getroot()
    space = "{http://www.w3.org/2000/svg}"
    numbers = [each.text for each in tree.iter(f"{space}text") if each.get("class") == "number"]
    assert numbers == [str(each["number"]) for each in pulls]
    corners = next(each for each in tree.iter(f"{space}polygon") if each.get("class") == "floor").get("points") or ""
    assert len(corners.split()) == 6 == len(found["room"]["walls"])


def test_tubes_keep_their_own_names_in_a_metric_room(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = "[kit]\ntubes = [{ length = '4 ft', count = 3 }]\n[room]\nlength = '4.5 m'\nwidth = '4 m'\n"
    (tmp_path / "room.toml").write_text(text, encoding="utf-8")
    assert main(["plan", str(tmp_path / "room.toml"), "--json"]) == Exit.DONE
    pulls = [pull for each in json.loads(capsys.readouterr().out)["passes"] for pull in each["pulls"]]
    assert "2 x 4 ft, hole 5" in {pull["tubes"] for pull in pulls}


def test_the_documented_drawing_is_the_one_the_program_draws(tmp_path: Path) -> None:
    (tmp_path / "room.toml").write_text(EXAMPLE, encoding="utf-8")
    assert main(["plan", str(tmp_path / "room.toml"), "--svg", str(tmp_path / "plan.svg")]) == Exit.DONE
    assert (tmp_path / "plan.svg").read_text("utf-8") == PAGE.with_name("plan.svg").read_text("utf-8")


@pytest.mark.parametrize(
    ("arguments", "code", "named"),
    [
        (["9 ft"], Exit.USAGE, "give length and width"),
        (["9 ft", "9 ft", "9 ft"], Exit.USAGE, "give length and width"),
        (["{}", "--lay", "door_to_far"], Exit.USAGE, "--lay belongs to two typed sides"),
        (["{}", "--figure-width", "1"], Exit.USAGE, "--figure-width belongs to two typed sides"),
        (["{}", "--svg", "/proc/none/room.svg"], Exit.NOT_WRITABLE, "the drawing cannot be written"),
    ],
)
def test_wrong_calls_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], code: Exit, named: str
) -> None:
    room = tmp_path / "room.toml"
    room.write_text(L_SHAPE, encoding="utf-8")
    assert main(["plan", *(each.replace("{}", str(room)) for each in arguments)]) == code
    assert named in capsys.readouterr().err
