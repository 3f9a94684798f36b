"""How the page for browsers is wished for."""

from dataclasses import dataclass

HOME = "127.0.0.1"
PORTS = range(1024, 65536)
"""Those that need no rights."""


@dataclass(frozen=True)
class TabletWishes:
    """How the page is served."""

    port: int = 0
    """0 = not at all."""
    address: str = HOME
    """Where it is reached; anything but a loopback address is open to the network and asks for a code."""
    may_tap: bool = False
    """Answers may be tapped there."""
