"""`pullcall settings` and the one table behind it."""

import json
import tomllib
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.core.kit import Kit
from assistant.exits import Exit
from assistant.settings import Settings, read_settings
from assistant.settings_table import TABLE, known


def test_the_tables_defaults_are_the_readers(tmp_path: Path) -> None:
    file = tmp_path / "all.toml"
    sections = known()
    value = {each.key: each.default for each in TABLE}
    file.write_text(
        "".join(
            f"[{section}]\n" + "".join(f"{key} = {value[f'{section}.{key}']}\n" for key in keys)
            for section, keys in sections.items()
        )
    )
    assert read_settings(file) == Settings(kit=Kit())


def test_each_value_is_shown_with_its_default(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("[voice]\nrate = 130\n")
    assert main(["--settings", str(file), "settings", "--json"]) == Exit.DONE
    told = json.loads(capsys.readouterr().out)
    rows = {each["key"]: each for each in told["settings"]}
    assert told["file"] == str(file) and set(rows) == {each.key for each in TABLE}
    assert (rows["voice.rate"]["value"], rows["voice.rate"]["default"], rows["voice.rate"]["set"]) == (130, 155, True)
    assert (rows["ears.deaf_ms"]["value"], rows["ears.deaf_ms"]["set"]) == (400, False)


def test_people_read_it_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PULLCALL_SETTINGS", str(tmp_path / "none.toml"))
    assert main(["settings"]) == Exit.DONE
    shown = capsys.readouterr().out
    assert shown.startswith(f"file: {tmp_path / 'none.toml'} (not there: all defaults)\n")
    assert "voice.rate = 155  (default)\n    words a minute\n    allowed: 120 to 220\n" in shown


def test_values_are_shown_as_they_stand_in_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "mine.toml"
    file.write_text('[voice]\ntones = false\n[pedal]\nkeys = ["a", "b", "c"]\n')
    assert main(["--settings", str(file), "settings"]) == Exit.DONE
    shown = capsys.readouterr().out
    assert "allowed: true, false; default true\n" in shown
    value = dict(line.removesuffix("  (default)").split(" = ", 1) for line in shown.splitlines() if " = " in line[:30])
    given = {each.key: tomllib.loads(f"v = {value[each.key]}")["v"] for each in TABLE}
    assert given == {each.key: tomllib.loads(f"v = {each.default}")["v"] for each in TABLE} | {
        "voice.tones": False,
        "pedal.keys": ["a", "b", "c"],
    }


@pytest.mark.parametrize("text", ["deaf_ms = 299", "deaf_ms = 501", "deaf_ms = true", "device = 3", "second = 1"])
def test_wrong_ears_are_refused(tmp_path: Path, text: str, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "bad.toml"
    file.write_text(f"[ears]\n{text}\n")
    assert main(["--settings", str(file), "settings"]) == Exit.BAD_SETTINGS
    assert f"ears.{text.split()[0]} = " in capsys.readouterr().err
