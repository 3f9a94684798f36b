"""One line of a bench: what was measured, beside what is asked for."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """One line of the bench."""

    name: str
    value: float
    unit: str
    bar: float | None = None
    """At most this is asked for; None = told to explain the others."""

    @property
    def verdict(self) -> str:
        """A figure that could not be taken (nan) falls short."""
        if self.bar is None:
            return ""
        return f"{'pass' if self.value <= self.bar else 'SHORT':5} {self.bar:g}"

    def __str__(self) -> str:
        return f"{self.name:64} {self.value:9.3f} {self.unit:3} {self.verdict}".rstrip()
