"""How the voice was asked to sound: steps away from the setting, up or down."""

from dataclasses import dataclass, replace

MOST_STEPS = 4
"""So many steps either way; further ones change nothing."""


@dataclass(frozen=True)
class Tone:
    """Steps of pace and loudness; 0 = as set."""

    pace: int = 0
    """Steps faster (+) or slower (-)."""
    loudness: int = 0
    """Steps louder (+) or quieter (-)."""

    def changed(self, how: str) -> "Tone":
        """One step 'faster', 'slower', 'louder' or 'quieter'; any other word changes nothing."""
        pace = self.pace + (how == "faster") - (how == "slower")
        loudness = self.loudness + (how == "louder") - (how == "quieter")
        return replace(self, pace=_kept(pace), loudness=_kept(loudness))


def _kept(steps: int) -> int:
    return max(-MOST_STEPS, min(MOST_STEPS, steps))


PLAIN = Tone()
"""As set."""
