"""Orders of passes from their files: what ships, a user's own, every way to get one wrong, and old job files."""

import json
import re
from dataclasses import fields
from fractions import Fraction
from pathlib import Path
from textwrap import dedent

import pytest

from assistant.core import events as ev
from assistant.core.length import inches, millimetres
from assistant.core.order import Direction, End, Order, OrderError, Part, PassRule, Side
from assistant.exits import Exit, Refusal
from assistant.orders import DEFAULT, read_order, read_order_file, shipped_orders
from assistant.record.codec import decode, encode
from assistant.settings import read_settings

GOOD = 'name = "ours"\n[[pass]]\ndirection = "length"\npart = "rest"\n[[pass]]\ndirection = "cross"\npart = "rest"\n'
FULL = """
name = "from the far side"
source = "our crew"
hooked = ["cross away", "length home"]
tie_off_run = "90 cm"
[[pass]]
direction = "cross"
part = "tie-off"
towards = "home"
first_angle = 7.5
[[pass]]
direction = "length"
part = "rest"
towards = "away"
[[pass]]
direction = "cross"
part = "rest"
towards = "home"
first_angle = 0
"""


def write(folder: Path, text: str) -> Path:
    file = folder / "ours.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_the_default_is_cross_length_cross() -> None:
    """Common practice, no published source."""
    order = read_order()
    assert order.name == "cross - length - cross"
    assert order.passes == (
        PassRule(Direction.CROSS, Part.TIE_OFF),
        PassRule(Direction.LENGTH, Part.REST),
        PassRule(Direction.CROSS, Part.REST),
    )
    assert order.tie_off_run == inches(36)
    assert order.hooked == (Side.CROSS_HOME, Side.LENGTH_HOME)


def test_length_first_leans_its_first_pull_into_the_corner() -> None:
    """About 15 degrees: trade-press practice."""
    order = read_order("length_first")
    assert order.passes == (
        PassRule(Direction.LENGTH, Part.REST, End.AWAY, Fraction(15)),
        PassRule(Direction.CROSS, Part.REST),
    )
    assert "trade-press practice" in order.source


def test_every_order_that_ships_is_sound_and_says_where_it_comes_from() -> None:
    assert shipped_orders() == ["cross_length_cross", "length_first"]
    assert DEFAULT in shipped_orders()
    assert all(read_order(each).source for each in shipped_orders())


def test_a_users_own(tmp_path: Path) -> None:
    file = write(tmp_path, GOOD)
    assert [each.direction for each in read_order(str(file)).passes] == [Direction.LENGTH, Direction.CROSS]


def test_every_key_is_taken(tmp_path: Path) -> None:
    assert read_order_file(write(tmp_path, FULL)) == Order(
        "from the far side",
        (
            PassRule(Direction.CROSS, Part.TIE_OFF, End.HOME, Fraction(15, 2)),
            PassRule(Direction.LENGTH, Part.REST),
            PassRule(Direction.CROSS, Part.REST, End.HOME),
        ),
        (Side.CROSS_AWAY, Side.LENGTH_HOME),
        millimetres(900),
        "our crew",
    )


DIRECTIONS, PARTS, ENDS = (f"must be one of {each}" for each in ("cross, length", "tie-off, rest", "home, away"))
SIDES = "must be a list of cross home, cross away, length home, length away, each once"
ANGLES = "must be degrees, from 0 to under 45"
NAME, PASSES = "must be a text in quotes, one line", "must be one [[pass]] or more"
LENGTH = "must be a length in quotes, such as '36 in' or '90 cm'"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("name = ", "cannot be read (Invalid value (at end of document)); an order is a TOML file"),
        ('name = "ours"', f"pass = missing: {PASSES}"),
        ('name = "ours"\npass = []', f"pass = []: {PASSES}"),
        ('name = "ours"\npass = 3', f"pass = 3: {PASSES}"),
        ('name = "ours"\npass = ["cross"]', f"pass = ['cross']: {PASSES}"),
        ('name = "ours"\n[pass]\ndirection = "cross"\n', f"pass = {{'direction': 'cross'}}: {PASSES}"),
        (GOOD.replace("name", "title"), "title = 'ours': unknown key; allowed: name, pass, hooked, tie_off_run, so"),
        (GOOD.replace('name = "ours"\n', ""), f"name = missing: {NAME}"),
        (GOOD.replace('"ours"', "7"), f"name = 7: {NAME}"),
        (GOOD.replace('"ours"', '" "'), f"name = ' ': {NAME}"),
        (GOOD.replace('"ours"', '"a\\nb"'), f"name = 'a\\nb': {NAME}"),
        ("source = 1\n" + GOOD, f"source = 1: {NAME}"),
        ('hooked = "cross home"\n' + GOOD, f"hooked = 'cross home': {SIDES}"),
        ('hooked = ["left"]\n' + GOOD, f"hooked = ['left']: {SIDES}"),
        ("hooked = [1]\n" + GOOD, f"hooked = [1]: {SIDES}"),
        ('hooked = ["cross home", "cross home"]\n' + GOOD, f"hooked = ['cross home', 'cross home']: {SIDES}"),
        ('tie_off_run = "long"\n' + GOOD, f"tie_off_run = 'long': {LENGTH}: 'long' is no length"),
        ("tie_off_run = 36\n" + GOOD, f"tie_off_run = 36: {LENGTH}"),
        ('tie_off_run = "0 in"\n' + GOOD, f"tie_off_run = '0 in': {LENGTH}"),
        (GOOD.replace('"cross"', '"diagonal"'), f"pass 2.direction = 'diagonal': {DIRECTIONS}"),
        (GOOD.replace('direction = "length"\n', ""), f"pass 1.direction = missing: {DIRECTIONS}"),
        (GOOD.replace('part = "rest"\n', "", 1), f"pass 1.part = missing: {PARTS}"),
        (GOOD.replace('"rest"', '"most"', 1), f"pass 1.part = 'most': {PARTS}"),
        (GOOD.replace('"rest"', "[]", 1), f"pass 1.part = []: {PARTS}"),
        (GOOD + 'towards = "left"\n', f"pass 2.towards = 'left': {ENDS}"),
        (GOOD + "angle = 3\n", "pass 2.angle = 3: unknown key; allowed: direction, part, towards, first_angle"),
        (GOOD + 'first_angle = "15"\n', f"pass 2.first_angle = '15': {ANGLES}, without quotes"),
        (GOOD + "first_angle = true\n", f"pass 2.first_angle = True: {ANGLES}"),
        (GOOD + "first_angle = 45\n", f"pass 2.first_angle = 45: {ANGLES}"),
        (GOOD + "first_angle = -1\n", f"pass 2.first_angle = -1: {ANGLES}"),
        (GOOD + "first_angle = nan\n", f"pass 2.first_angle = nan: {ANGLES}"),
        (GOOD + "first_angle = inf\n", f"pass 2.first_angle = inf: {ANGLES}"),
        (GOOD.replace('"cross"', '"length"'), "order 'ours': pass 2 (length rest): nothing is left to pull"),
    ],
)
def test_errors_name_file_key_value_and_what_is_allowed(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(OrderError) as caught:
        read_order_file(file := write(tmp_path, text))
    assert str(caught.value).startswith(f"{file}: {message}")
    assert "\n" not in str(caught.value)


def test_a_missing_order_is_named_with_those_there_are(tmp_path: Path) -> None:
    with pytest.raises(OrderError, match=r"no order is called 'nowhere'; allowed: one of cross_length_cross, length_f"):
        read_order("nowhere")
    with pytest.raises(OrderError, match=r"nowhere\.toml: cannot be read \(No such file or directory\)"):
        read_order(str(tmp_path / "nowhere.toml"))


def test_settings_take_a_path_that_counts_from_their_own_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    write(tmp_path, FULL)
    file = tmp_path / "settings.toml"
    file.write_text('[job]\norder = "ours.toml"\n', encoding="utf-8")
    assert read_settings(file).read_order().name == "from the far side"
    write(tmp_path, GOOD.replace('"cross"', '"length"'))
    with pytest.raises(
        Refusal, match=r"job\.order = 'ours\.toml': must be an order that can be worked \(.*ours\.toml: order"
    ) as no:
        read_settings(file)
    assert no.value.code is Exit.BAD_SETTINGS


def test_the_page_on_orders_is_true(tmp_path: Path) -> None:
    """Its example works, and it has a row for each order that ships and each key."""
    page = (Path(__file__).parent.parent / "docs" / "orders.md").read_text(encoding="utf-8")
    example = dedent(page[page.index("    name = ") : page.index("## What is refused")])
    assert read_order_file(write(tmp_path, example)).tie_off_run == inches(48)
    rows = set(re.findall(r"^\| `(?:\[\[)?(\w+)", page, re.MULTILINE))
    keys = {each.name for kind in (Order, PassRule) for each in fields(kind)}
    assert rows == keys - {"passes"} | {"pass", *shipped_orders()}


OLD = {
    "program": "0.1.0",
    "model": "m",
    "order": {
        "name": "cross - length - cross",
        "passes": [
            {"direction": "cross", "part": "tie-off"},
            {"direction": "length", "part": "rest"},
            {"direction": "cross", "part": "rest"},
        ],
    },
    "head": {"width": "15", "gap_least": "3", "gap_most": "4"},
}
"""A first row as version 0.1.0 wrote it, before orders had sides, a run, ends and angles."""


def test_an_old_job_file_still_opens() -> None:
    event = decode("started", json.dumps(OLD))
    assert isinstance(event, ev.Started)
    assert event.order.passes == read_order().passes
    assert (event.order.hooked, event.order.tie_off_run) == ((Side.CROSS_HOME, Side.LENGTH_HOME), inches(36))


@pytest.mark.parametrize("name", shipped_orders())
def test_an_order_comes_back_from_the_job_file(name: str) -> None:
    event = ev.Started("p", "m", read_order(name))
    assert decode(*encode(event)) == event


def test_a_users_order_comes_back_from_the_job_file(tmp_path: Path) -> None:
    event = ev.Started("p", "m", read_order_file(write(tmp_path, FULL)))
    assert decode(*encode(event)) == event
