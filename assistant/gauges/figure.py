"""One line of a bench: what was measured, beside what is asked for."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """One line of the bench."""

    name: str
    value: float
    unit: str
    bar: float
    """At most this is asked for."""

    @property
    def good(self) -> bool:
        """The bar is met; a figure that could not be taken (nan) does not meet it."""
        return self.value <= self.bar

    def __str__(self) -> str:
        return f"{self.name:64} {self.value:9.3f} {self.unit:3} {'pass ' if self.good else 'SHORT'} {self.bar:g}"
