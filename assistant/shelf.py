"""Where the package keeps its data, in a source tree and in an installed wheel alike."""

from pathlib import Path

_PACKAGE = Path(__file__).parent


def _folder(name: str) -> Path:
    """A wheel carries the top-level data folders inside the package (see pyproject.toml)."""
    inside = _PACKAGE / "_shelf" / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


def grammars_folder() -> Path:
    """JSGF files, lexicon and orders."""
    return _folder("grammars")


def recordings_folder() -> Path:
    """Synthetic recordings the demo plays."""
    return _folder("recordings_synthetic")


def model_folder() -> Path:
    """The speech model that ships."""
    return _PACKAGE / "speech" / "model"


def messages_folder() -> Path:
    """Sentences and cautions, TOML."""
    return _PACKAGE / "messages"


def orders_folder() -> Path:
    """Orders of passes, TOML."""
    return _PACKAGE / "orders"
