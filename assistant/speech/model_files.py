"""What a Vosk model folder must hold, looked at before vosk does: it ends the process or is silent about bad files."""

from dataclasses import dataclass
from pathlib import Path

from assistant.exits import Exit, Refusal

_KALDI = b"\0B<TransitionModel> "
_FST = (0x7EB2FDD6).to_bytes(4, "little")


@dataclass(frozen=True)
class Layout:
    """Where the files of one kind of folder are, relative to it."""

    acoustic: str
    """Acoustic model."""
    settings: tuple[str, ...]
    """Text files that must be there."""
    graph: str
    """Folder of the graphs."""


_NEW = Layout("am/final.mdl", ("conf/model.conf",), "graph")
_OLD = Layout("final.mdl", ("mfcc.conf",), ".")


def _layout(folder: Path) -> Layout:
    return _NEW if (folder / _NEW.acoustic).is_file() and (folder / _NEW.settings[0]).is_file() else _OLD


def has_run_time_grammar(folder: Path) -> bool:
    """Whether the graph comes in two parts, so that a word list can take the place of the second."""
    graph = folder / _layout(folder).graph
    return (graph / "HCLr.fst").is_file() and not (graph / "HCLG.fst").is_file()


def check_foreign(folder: Path) -> None:
    """Raises Refusal (BAD_MODEL) naming the first file that is missing, empty or of another kind."""
    layout = _layout(folder)
    if layout is _OLD and not (folder / _OLD.acoustic).is_file():
        half = (folder / "am").is_dir() or (folder / "conf").is_dir()
        lacking = f"lacks {_NEW.acoustic} or {_NEW.settings[0]}" if half else "is no Vosk model (no am/final.mdl in it)"
        raise Refusal(Exit.BAD_MODEL, f"model {folder}: {lacking}; name the folder of a whole one")
    _check(folder, layout.acoustic, _KALDI, "acoustic model")
    for name in layout.settings:
        _check(folder, name, b"", "settings file")
    whole = (folder / layout.graph / "HCLG.fst").is_file()
    for name in ("HCLG.fst",) if whole else ("HCLr.fst", "Gr.fst"):
        _check(folder, f"{layout.graph}/{name}", _FST, "graph")
    if not whole:
        _check(folder, f"{layout.graph}/disambig_tid.int", b"", "list of numbers")


def _check(folder: Path, name: str, begin: bytes, kind: str) -> None:
    shown = name.removeprefix("./")
    try:
        with (folder / name).open("rb") as file:
            found = file.read(max(1, len(begin)))
    except OSError:
        raise Refusal(Exit.BAD_MODEL, f"model {folder}: {shown} is missing or cannot be read; fetch it again") from None
    if not found or not found.startswith(begin):
        raise Refusal(Exit.BAD_MODEL, f"model {folder}: {shown} is no {kind}; fetch the model again")
