"""The table library without pandas, which it would load for its first column and which takes twice as long as itself.

It looks once whether pandas is there and believes the answer for good. So this is for a program whose tables never go
to pandas, and it does nothing where pandas is loaded already.
"""

import sys
from collections.abc import Sequence
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec
from types import ModuleType


class _Nowhere(MetaPathFinder):
    """Asked first where a module is, it says of pandas that there is none."""

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Raises ModuleNotFoundError for pandas; None leaves any other to those asked next."""
        if fullname == "pandas":
            raise ModuleNotFoundError("not wanted here", name=fullname)
        return None


def load_without_pandas() -> None:
    """Load pyarrow so."""
    nowhere = _Nowhere()
    if "pandas" not in sys.modules:
        sys.meta_path.insert(0, nowhere)
    try:
        import pyarrow as pa

        pa.array([0])
    finally:
        if nowhere in sys.meta_path:
            sys.meta_path.remove(nowhere)
