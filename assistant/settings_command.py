"""`pullcall settings`: the file, and each value with its default, its range and its meaning."""

import argparse
import json
import tomllib
from pathlib import Path

from assistant.exits import Exit
from assistant.settings import settings_file
from assistant.settings_table import TABLE, Entry


def run(options: argparse.Namespace) -> Exit:
    """Print them; the file was read and found right before."""
    file: Path = options.settings or settings_file()
    written = tomllib.loads(file.read_text(encoding="utf-8")) if file.exists() else {}
    rows = [_row(each, written) for each in TABLE]
    if options.json:
        print(json.dumps({"file": str(file), "exists": file.exists(), "settings": rows}, ensure_ascii=False))
        return Exit.DONE
    print(f"file: {file}{'' if file.exists() else ' (not there: all defaults)'}")
    for each in rows:
        print(f"\n{each['key']} = {_toml(each['value'])}{'' if each['set'] else '  (default)'}")
        print(f"    {each['meaning']}")
        default = f"; default {_toml(each['default'])}" if each["set"] else ""
        print(f"    allowed: {each['allowed']}{default}")
    return Exit.DONE


def _toml(value: object) -> str:
    """As it stands in the file."""
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {_toml(each)}' for key, each in value.items())} }}"
    return json.dumps(value, ensure_ascii=False)


def _row(entry: Entry, written: dict[str, dict[str, object]]) -> dict[str, object]:
    section, _, key = entry.key.partition(".")
    is_set = key in written.get(section, {})
    default = tomllib.loads(f"value = {entry.default}")["value"]
    return {
        "key": entry.key,
        "value": written[section][key] if is_set else default,
        "set": is_set,
        "default": default,
        "allowed": entry.allowed,
        "meaning": entry.meaning,
    }
