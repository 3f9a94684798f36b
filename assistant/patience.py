"""How long it waits in silence before it asks again. Pure: time is what the microphone has heard, nothing else ticks.

What is not listened to is no silence: while the assistant speaks the ears are deaf, and a microphone that is gone, or
none at all, hears nobody because it hears nothing.
"""

from assistant.screen.choices import taps


def wait_s(ask: str, again_s: int) -> float:
    """Seconds of silence at an ask before it asks again, where the settings say `again_s`; 0 = never."""
    return float(again_s * taps(ask).patience)


class Patience:
    """The silence since the present question stood, or since somebody last spoke or tapped."""

    def __init__(self) -> None:
        self._turn = -1
        self._silent_s = 0.0
        self._touched = False

    def touched(self) -> None:
        """Somebody is busy at a screen; may be called from any thread."""
        self._touched = True

    def over(self, turn: int, seconds: float, speaking: bool, wait_s: float) -> bool:
        """Was it silent for `wait_s` at the question of `turn`, now that `seconds` more were heard? 0 = never.

        Once it is over, the wait begins anew.
        """
        if self._touched or speaking or turn != self._turn:
            self._turn, self._touched, self._silent_s = turn, False, 0.0
        if not speaking:
            self._silent_s += seconds
        if not wait_s or self._silent_s < wait_s:
            return False
        self._silent_s = 0.0
        return True
