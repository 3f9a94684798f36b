"""Orders of passes from their files."""

from pathlib import Path

import pytest

from assistant.core.order import Direction, OrderError, Part, PassRule
from assistant.orders import DEFAULT, read_order, read_order_file
from assistant.shelf import orders_folder

GOOD = 'name = "ours"\n[[pass]]\ndirection = "length"\npart = "rest"\n[[pass]]\ndirection = "cross"\npart = "rest"\n'


def test_the_default_is_cross_length_cross() -> None:
    """Common practice, no published source."""
    order = read_order()
    assert order.name == "cross - length - cross"
    assert order.passes == (
        PassRule(Direction.CROSS, Part.TIE_OFF),
        PassRule(Direction.LENGTH, Part.REST),
        PassRule(Direction.CROSS, Part.REST),
    )


@pytest.mark.parametrize("file", sorted(orders_folder().glob("*.toml")), ids=lambda file: file.stem)
def test_every_order_that_ships_is_sound(file: Path) -> None:
    assert read_order(file.stem).passes
    assert (orders_folder() / f"{DEFAULT}.toml").exists()


def test_a_users_own(tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_text(GOOD, encoding="utf-8")
    assert [each.direction for each in read_order_file(file).passes] == [Direction.LENGTH, Direction.CROSS]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("name = ", "ours.toml: "),
        ('name = "ours"', "ours.toml: .*pass"),
        (GOOD.replace("name", "title"), "ours.toml: .*name"),
        (GOOD.replace('"cross"', '"diagonal"'), "ours.toml: 'diagonal' is not a valid Direction"),
        (GOOD.replace('"rest"', '"most"'), "ours.toml: 'most' is not a valid Part"),
        ('name = "ours"\n[pass]\ndirection = "cross"\n', "ours.toml: "),
        (GOOD.replace('"cross"', '"length"'), "ours.toml: order 'ours': "),
    ],
)
def test_errors_name_the_file(tmp_path: Path, text: str, message: str) -> None:
    file = tmp_path / "ours.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(OrderError, match=message):
        read_order_file(file)


def test_a_missing_file_is_named() -> None:
    with pytest.raises(OrderError, match=r"nowhere\.toml"):
        read_order("nowhere")
