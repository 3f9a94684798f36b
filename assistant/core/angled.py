"""The path of a pull that leans into a corner."""

from fractions import Fraction

from assistant.core.bearing import heading
from assistant.core.length import Length


def angled_path(span: Length, angle: Fraction) -> Length:
    """Head to tail where the pull leans `angle` degrees (under 90) off straight across `span`: span / cos(angle).

    Exact for the rational direction of `bearing.heading`, which is within 1e-12 of the angle.
    """
    _, along = heading(angle)
    return span * (1 / along)


def angled_shift(span: Length, angle: Fraction) -> Length:
    """How far along its wall the tail stands from where a straight pull would have it: span x tan(angle)."""
    aside, along = heading(angle)
    return span * (aside / along)
