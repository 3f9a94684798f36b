"""What the doctor says of one thing: pass, or the one thing to do."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Finding:
    """What was found about one thing."""

    thing: str
    passed: bool
    found: str
    fix: str = ""
    """The one thing to do; '' where it passed."""

    def __str__(self) -> str:
        line = f"{'pass' if self.passed else 'FIX '}  {self.thing:13} {self.found}"
        return line if self.passed else f"{line}\n{'':20}-> {self.fix}"


Check = Callable[[], Finding]
