"""Colours of the two themes, and how well they must stand out.

Verdict colours are of the palette of Okabe and Ito (2008), which people with colour-blindness tell apart; its reddish
purple is a little lighter here. They stand on black in both themes, where each reaches 7:1.
"""

from dataclasses import dataclass
from typing import Literal

TEXT_CONTRAST, OTHER_CONTRAST = 7.0, 3.0
"""Least contrast (WCAG 2.2) of text, and of everything else that means something."""
THEMES = ("dark", "light")


@dataclass(frozen=True)
class Palette:
    """One theme; every colour as '#RRGGBB'."""

    name: str
    ground: str
    text: str
    key_ground: str
    """Of a big key."""
    key_text: str
    now: str
    """In the room: the present pull."""
    done: str
    waiting: str
    """Pulls to come, and the level meter's rest."""
    wall: str
    strip_ground: str = "#000000"
    """Behind the verdict, whatever the theme."""
    strip_text: str = "#FFFFFF"
    short: str = "#E69F00"
    in_band: str = "#56B4E9"
    over: str = "#D78FB8"
    no_verdict: str = "#FFFFFF"

    def of(self, key: str) -> str:
        """The colour of that name. Raises AttributeError for none."""
        found: str = getattr(self, key)
        return found

    @property
    def pairs(self) -> tuple[tuple[str, str, Literal["text", "other"]], ...]:
        """Everything drawn: (colour, what it stands on, what it is)."""
        verdicts = ("short", "in_band", "over", "no_verdict", "strip_text")
        return (
            (self.text, self.ground, "text"),
            (self.key_text, self.key_ground, "text"),
            *((self.of(each), self.strip_ground, "text") for each in verdicts),
            *((self.of(each), self.ground, "other") for each in ("now", "done", "waiting", "wall", "key_ground")),
        )


PALETTES = {
    "dark": Palette("dark", "#000000", "#FFFFFF", "#8FA8BD", "#000000", "#F0E442", "#56B4E9", "#8A8A8A", "#FFFFFF"),
    "light": Palette("light", "#FFFFFF", "#000000", "#003B5C", "#FFFFFF", "#B33C00", "#0072B2", "#767676", "#000000"),
}
