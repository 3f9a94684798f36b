"""A caution: something to know, never a block."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """Something to know, never a block."""

    about: str
    """What it concerns: 'wide strip', 'layout: gap over the most' ..."""
    text: str
    """One plain sentence with its figures."""
    source: str
