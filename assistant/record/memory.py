"""A store without a file, for rehearsals and benchmarks. Implements ports.Store."""

from collections.abc import Iterator, Sequence


class MemoryStore:
    """Rows in a list; lost when the program ends."""

    def __init__(self) -> None:
        self._rows: list[tuple[str, str]] = []

    def append(self, rows: Sequence[tuple[str, str]]) -> int:
        """As the port asks, but nothing here is durable."""
        self._rows.extend(rows)
        return len(self._rows)

    def rows(self) -> Iterator[tuple[str, str]]:
        """Every row in order."""
        return iter(list(self._rows))

    def close(self) -> None:
        """Nothing is held."""
