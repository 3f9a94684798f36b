"""The palettes as style variables of the terminal library."""

from assistant.screen.palette import Palette


def variables(palette: Palette) -> dict[str, str]:
    """Names used in the styles -> colours."""
    return {
        "ground": palette.ground,
        "text-plain": palette.text,
        "key-ground": palette.key_ground,
        "key-text": palette.key_text,
        "now": palette.now,
        "strip-ground": palette.strip_ground,
        "strip-text": palette.strip_text,
    }
