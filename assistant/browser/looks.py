"""How large and in which colours the page is drawn.

Assumed: a 10.1 inch tablet of 16:10, 1280 x 800 CSS pixels on 217 x 136 mm, held upright or across, seen from 2 m; a
sans-serif face whose capitals are 0.70 of its size (those of Debian, Android and iPad are 0.70 to 0.73).
"""

from pathlib import Path

from assistant.screen.palette import PALETTES, Palette

SHORT_SIDE_MM = 136.0
CAPITALS = 0.70
"""Height of capitals, share of the type's size."""
_TEMPLATES = Path(__file__).parent / "templates"
_COLOURS = (
    "ground",
    "text",
    "key_ground",
    "key_text",
    "now",
    "done",
    "waiting",
    "wall",
    "strip_ground",
    "strip_text",
    "short",
    "in_band",
    "over",
    "no_verdict",
)


def capitals_mm(vmin: float) -> float:
    """Height of capitals set in `vmin`, hundredths of the shorter side."""
    return vmin / 100 * SHORT_SIDE_MM * CAPITALS


def style(theme: str) -> bytes:
    """The style sheet, in the colours of `theme` until the page asks for the other."""
    rules = (
        f":root {_block(PALETTES[theme])}",
        *(f":root.{name} {_block(palette)}" for name, palette in PALETTES.items()),
    )
    return "\n".join((*rules, template("page.css").decode())).encode()


def _block(palette: Palette) -> str:
    return "{ " + " ".join(f"--{each.replace('_', '-')}: {palette.of(each)};" for each in _COLOURS) + " }"


def template(name: str) -> bytes:
    """A file of the page."""
    return (_TEMPLATES / name).read_bytes()
