"""Keeps the pedal's keys in the settings file, and every other line of it as it was."""

import re
import tomllib
from collections.abc import Sequence
from pathlib import Path

from assistant.exits import Exit, Refusal

_SECTION = re.compile(r"^\[pedal\][ \t]*(?:#[^\n]*)?$", re.MULTILINE)
_KEYS = re.compile(r"^keys\s*=\s*\[[^\]]*\][^\n]*$", re.MULTILINE)


def with_pedal(text: str, keys: Sequence[str]) -> str:
    """The settings with `[pedal] keys` set. Raises ValueError where that would spoil the file."""
    line = f"keys = [{', '.join(_quoted(each) for each in keys)}]"
    section = _SECTION.search(text)
    if section is None:
        made = f"{text.rstrip()}\n\n[pedal]\n{line}\n".lstrip()
    else:
        following = re.compile(r"^\[", re.MULTILINE).search(text, section.end())
        end = following.start() if following else len(text)
        inside = text[section.end() : end]
        inside = _KEYS.sub(lambda _: line, inside, 1) if _KEYS.search(inside) else f"\n{line}{inside}"
        made = text[: section.end()] + inside + text[end:]
    if tomllib.loads(made).get("pedal", {}).get("keys") != list(keys):
        raise ValueError("[pedal] keys cannot be set there")
    return made


def _quoted(key: str) -> str:
    return '"' + key.replace("\\", "\\\\").replace('"', '\\"') + '"'


def keep_pedal(file: Path, keys: Sequence[str]) -> None:
    """Set them in `file`, which is made where it is missing. Raises Refusal (NOT_WRITABLE, BAD_SETTINGS)."""
    part = file.with_name(f"{file.name}.part")
    try:
        text = file.read_text(encoding="utf-8") if file.exists() else ""
        part.write_text(with_pedal(text, keys), encoding="utf-8")
        part.replace(file)
    except OSError as error:
        raise Refusal(Exit.NOT_WRITABLE, f"settings {file}: the pedal is not kept ({error.strerror})") from None
    except ValueError as error:
        raise Refusal(Exit.BAD_SETTINGS, f"settings {file}: the pedal is not kept ({error})") from None
