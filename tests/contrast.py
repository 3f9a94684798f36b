"""Contrast of two colours (WCAG 2.2), which the colours of screens, page and report keep to."""

from collections.abc import Sequence


def contrast(one: Sequence[float], two: Sequence[float]) -> float:
    """1 to 21; colours as (red, green, blue, ...), 0 to 255.

    'Contrast ratio' and 'relative luminance' (W3C, https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio).
    """
    light, dark = sorted((_luminance(one), _luminance(two)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def of_hex(one: str, two: str) -> float:
    """The same of '#RRGGBB'."""
    return contrast(*([int(each[at : at + 2], 16) for at in (1, 3, 5)] for each in (one, two)))


def _luminance(colour: Sequence[float]) -> float:
    parts = [each / 255 for each in colour[:3]]
    linear = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
