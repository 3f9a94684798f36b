"""Type that is read from two metres: heights in millimetres, contrast, and what is drawn at every ask."""

from itertools import combinations

import pytest

from assistant.core.band import Verdict
from assistant.practice.rehearsal import Shot, shots
from assistant.screen.app import PullcallApp
from assistant.screen.badge import SIGNS, Badge, badge
from assistant.screen.drawn import capitals
from assistant.screen.glyphs import big, digits, fitted, shape
from assistant.screen.layout import LEAST, fits, layout
from assistant.screen.palette import OTHER_CONTRAST, PALETTES, TEXT_CONTRAST, THEMES, Palette
from assistant.screen.sight import BEST_ARC, LEAST_ARC, PANEL_MM, arc_of, cap_mm, height_mm
from tests.contrast import of_hex as contrast

SHOTS = list(shots())
SIZES = [LEAST, (100, 30), (120, 40), (160, 48), (200, 60)]
SOLID = 3
"""Cells a capital needs at least to be told apart: six dots."""


def test_twenty_minutes_of_arc_at_two_metres_are_11_6_mm_and_twenty_two_12_8() -> None:
    assert height_mm(LEAST_ARC) == pytest.approx(11.6, abs=0.05)
    assert height_mm(BEST_ARC) == pytest.approx(12.8, abs=0.05)
    assert arc_of(height_mm(17.0)) == pytest.approx(17.0)


def test_a_cell_is_as_high_as_the_panel_over_its_rows() -> None:
    assert cap_mm(2, 24) == pytest.approx(2 * PANEL_MM / 24)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("shot", SHOTS, ids=lambda each: each.name)
def test_value_and_instruction_of_every_ask_are_read_from_two_metres(shot: Shot, size: tuple[int, int]) -> None:
    sizes, content = layout(*size), shot.panel.content
    width = sizes.columns - (sizes.room_columns + 1 if shot.panel.room else 0) - 2
    drawn = [(content.value, sizes.value, width), (content.instruction, sizes.instruction, width)]
    drawn.append((content.beside, sizes.strip, sizes.columns - 4))
    for text, cells, columns in drawn:
        if text:
            high = fitted(capitals(text, cells), columns, cells)
            assert high >= SOLID, f"'{text}' is {high} cells high"
            assert cap_mm(high, sizes.rows) >= height_mm(LEAST_ARC), f"'{text}' is {cap_mm(high, sizes.rows):.1f} mm"


@pytest.mark.parametrize("size", SIZES)
def test_six_rows_of_content_fill_the_panel_and_no_more(size: tuple[int, int]) -> None:
    """Header; instruction; value; verdict; two lines of text count as one row; keys."""
    sizes = layout(*size)
    assert 1 + sizes.upper + (sizes.strip + 2) + 2 + sizes.keys == sizes.rows
    assert sizes.upper == sizes.instruction + sizes.value + 3
    assert sizes.value >= 2 * sizes.instruction - 2
    assert fits(*size)


def test_a_smaller_terminal_does_not_fit() -> None:
    assert not fits(79, 24)
    assert not fits(80, 23)


def ink(sign: str, rows: int, squeezed: bool) -> list[str]:
    width = 40 if not squeezed else 2 * rows - 1
    return list(big(sign, width, rows))


def dots(text: tuple[str, ...] | list[str]) -> set[tuple[int, int]]:
    blocks = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
    found = set()
    for y, line in enumerate(text):
        for x, each in enumerate(line):
            for bit in range(4):
                if blocks.index(each) >> bit & 1:
                    found.add((2 * x + bit % 2, 2 * y + bit // 2))
    return found


@pytest.mark.parametrize("rows", range(3, 13))
@pytest.mark.parametrize("squeezed", [False, True])
def test_no_two_digits_look_alike(rows: int, squeezed: bool) -> None:
    """Moved a dot to either side, too: at least four dots differ, and 13 % of the ink, from five cells on 18 %."""
    for one, other in combinations("0123456789", 2):
        first, second = dots(ink(one, rows, squeezed)), dots(ink(other, rows, squeezed))
        apart = min(len(first ^ {(x + by, y) for x, y in second}) for by in (-1, 0, 1))
        assert apart >= max(4, (0.13 if rows < 5 else 0.18) * len(first | second)), (
            f"{one} and {other} at {rows} cells: {apart} dots"
        )


def test_small_digits_come_dot_by_dot() -> None:
    assert {height: len(found) for height, found in digits().items()} == {6: 10, 8: 10}


def test_text_is_squeezed_then_lowered_and_never_wider_than_its_box() -> None:
    assert fitted("HOOK IT", 80, 6) == 6
    assert fitted("SLAB HUMIDITY AND MORE THAN THAT", 40, 6) < 6
    for text in ("1 13/16 in", "SLAB HUMIDITY?", "WALK THE EDGES"):
        for columns in (20, 40, 54, 80):
            assert max(map(len, big(text, columns, 6))) <= columns
    assert big(" ", 40, 3) == big("1", 0, 3) == ()


def test_letters_are_in_capitals_and_units_small_only_where_large() -> None:
    assert capitals("12 ft 3 5/8 in", 6) == "12 ft 3 5/8 in"
    assert capitals("Position 12 ft 3 in", 3) == "POSITION 12 FT 3 IN"


# --- Contrast and verdicts --------------------------------------------------------------------------------------


def test_contrast_is_that_of_wcag() -> None:
    """W3C's examples: black on white is 21:1, #767676 on white 4.54:1."""
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.01)
    assert contrast("#123456", "#123456") == 1


@pytest.mark.parametrize("theme", THEMES)
def test_everything_drawn_stands_out(theme: str) -> None:
    for colour, ground, kind in PALETTES[theme].pairs:
        least = TEXT_CONTRAST if kind == "text" else OTHER_CONTRAST
        assert contrast(colour, ground) >= least, f"{theme}: {colour} on {ground} is {contrast(colour, ground):.2f}"


@pytest.mark.parametrize("theme", THEMES)
def test_every_colour_of_the_style_sheet_is_one_that_is_checked(theme: str) -> None:
    palette = PALETTES[theme]
    checked = {colour for pair in palette.pairs for colour in pair[:2]}
    own = {value for key, value in vars(palette).items() if key != "name"}
    assert own <= checked
    assert all(each in own for each in PullcallApp(None, theme=theme).get_css_variables().values() if each in own)  # type: ignore[arg-type]


def test_no_verdict_is_told_by_its_colour_alone() -> None:
    badges = [badge(each) for each in Verdict]
    for palette in PALETTES.values():
        assert len({palette.of(each.colour) for each in badges}) == len(badges)
    assert len({each.word for each in badges}) == len({each.shape for each in badges}) == len(badges)
    assert len({SIGNS[each.shape] for each in badges}) == len(badges)
    for one, other in combinations(badges, 2):
        assert len(dots(shape(one.shape, 3)) ^ dots(shape(other.shape, 3))) >= 12


def test_a_badge_carries_by_how_much() -> None:
    assert badge(Verdict.SHORT, "3/8 in") == Badge("short", "down", "short", "3/8 in")
    assert badge(Verdict.OVER).sign == "▲"


def test_a_palette_knows_its_colours_by_name() -> None:
    assert isinstance(PALETTES["dark"], Palette)
    with pytest.raises(AttributeError):
        PALETTES["dark"].of("puce")
