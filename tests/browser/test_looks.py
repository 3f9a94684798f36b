"""What is read from two metres, in which colours, and how large what is tapped is: computed from the style sheet."""

import re

import pytest

from assistant.browser.looks import SHORT_SIDE_MM, capitals_mm, style
from assistant.screen.palette import OTHER_CONTRAST, PALETTES, TEXT_CONTRAST, THEMES
from assistant.screen.sight import LEAST_ARC, height_mm
from tests.contrast import of_hex as contrast

CSS = style("dark").decode()


def rules() -> list[tuple[str, str]]:
    return re.findall(r"([^{}]+)\{([^{}]*)\}", CSS)


def test_all_that_is_read_from_afar_is_large_enough() -> None:
    far = [(name.strip(), body) for name, body in rules() if re.search(r"\.far|#value|\.verdict", name)]
    sizes = {
        name: float(size) for name, body in far for size in re.findall(r"(?:font-size: |font: )([\d.]+)vmin", body)
    }
    assert len(sizes) >= 5
    assert {name for name, size in sizes.items() if capitals_mm(size) < height_mm(LEAST_ARC)} == set()


@pytest.mark.parametrize("theme", THEMES)
def test_themes_are_those_of_the_terminal_and_stand_out(theme: str) -> None:
    block = dict(rules())["\n:root." + theme + " "] if theme != "dark" else dict(rules())["\n:root.dark "]
    found = dict(re.findall(r"--([\w-]+): (#\w+);", block))
    palette = PALETTES[theme]
    assert found["in-band"] == palette.in_band and found["ground"] == palette.ground
    for colour, ground, kind in palette.pairs:
        assert {colour, ground} <= set(found.values())
        assert contrast(colour, ground) >= (TEXT_CONTRAST if kind == "text" else OTHER_CONTRAST)
    assert contrast(found["key-text"], found["key-ground"]) >= TEXT_CONTRAST


def test_no_colour_but_the_palettes() -> None:
    own = CSS.split("* { box-sizing")[1]
    assert re.findall(r"#[0-9A-Fa-f]{6}\b|rgb|hsl", own) == []


def test_keys_are_large() -> None:
    assert "min-height: 44px; min-width: 44px" in CSS and "repeat(3, 1fr)" in CSS
    key = next(body for name, body in rules() if name.strip() == ".key")
    height = float(re.findall(r"min-height: (\d+)vmin", key)[0]) / 100 * SHORT_SIDE_MM
    assert height >= 20, "a gloved thumb"
