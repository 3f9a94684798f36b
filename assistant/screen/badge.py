"""A verdict to be seen: a word, a shape and a colour key, so that none of them has to be seen alone."""

from dataclasses import dataclass

from assistant.core.band import Verdict


@dataclass(frozen=True)
class Badge:
    """A verdict."""

    word: str
    shape: str
    """'down' = a triangle pointing down, 'disc', 'up', 'diamond'."""
    colour: str
    """Key of the theme: 'short', 'in_band', 'over' or 'no_verdict'."""
    more: str = ""
    """By how much, as on the tape; '' = nothing to say."""

    @property
    def sign(self) -> str:
        """The shape as one sign of text."""
        return SIGNS[self.shape]


SIGNS = {"down": "▼", "disc": "●", "up": "▲", "diamond": "◆"}

_BADGES = {
    Verdict.SHORT: Badge("short", "down", "short"),
    Verdict.IN_BAND: Badge("in band", "disc", "in_band"),
    Verdict.OVER: Badge("over", "up", "over"),
    Verdict.NONE: Badge("no verdict", "diamond", "no_verdict"),
}


def badge(verdict: Verdict, more: str = "") -> Badge:
    """The badge of a verdict."""
    plain = _BADGES[verdict]
    return Badge(plain.word, plain.shape, plain.colour, more)
