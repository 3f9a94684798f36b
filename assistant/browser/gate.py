"""Who may look: a one-time code for each browser, and the token it is exchanged for."""

import hmac
import math
import secrets
import threading
import time
from collections.abc import Callable

DIGITS = 6
TRIES = 5
"""Wrong codes before everybody has to wait."""
LOCKED_S = 60.0
"""How long; at 5 tries a minute a million codes last for months, and each lock makes a new one."""
REMIND_S = 5.0
"""The code is shown no more often for those who ask."""
MOST_BROWSERS = 16
"""Tokens given out at most; the oldest is forgotten for a new one."""


class Gate:
    """Open to everybody where `shown` is None; otherwise asks a code that admits one browser and is then made anew."""

    def __init__(
        self, shown: Callable[[str], object] | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        """`shown` gets each new code, to be shown to those in the room; the first when reminded."""
        self._shown, self._clock = shown, clock
        self._lock = threading.Lock()
        self._tokens: list[str] = []
        self._wrong = 0
        self._locked_until = 0.0
        self._reminded = -math.inf
        self._code = _new_code()

    def _renew(self, shown: Callable[[str], object]) -> None:
        self._code = _new_code()
        self._wrong = 0
        shown(self._code)

    def knows(self, token: str) -> bool:
        """May the browser with this token look?"""
        with self._lock:
            known = [hmac.compare_digest(each.encode(), token.encode()) for each in self._tokens]
        return self._shown is None or any(known)

    def remind(self) -> None:
        """Somebody stands before the gate: show the code again, every few seconds at most."""
        with self._lock:
            if self._shown is not None and self._clock() >= self._reminded + REMIND_S:
                self._reminded = self._clock()
                self._shown(self._code)

    def wait_s(self) -> float:
        """Seconds until a code is looked at again; 0 = now."""
        return max(0.0, self._locked_until - self._clock())

    def admit(self, code: str) -> str:
        """The token for a right code; '' for a wrong one, and for any while locked."""
        with self._lock:
            if self._shown is None or self.wait_s():
                return ""
            if not hmac.compare_digest(self._code.encode(), "".join(code.split()).encode()):
                self._wrong += 1
                if self._wrong >= TRIES:
                    self._locked_until = self._clock() + LOCKED_S
                    self._renew(self._shown)
                return ""
            token = secrets.token_urlsafe(32)
            self._tokens = [*self._tokens, token][-MOST_BROWSERS:]
            self._renew(self._shown)
            return token


def _new_code() -> str:
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"
