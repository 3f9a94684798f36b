"""Settings: defaults, every value, and one clear line for each way to get it wrong."""

from pathlib import Path

import pytest

from assistant.core.length import inches
from assistant.exits import Exit, Refusal
from assistant.settings import Settings, read_settings


def write(folder: Path, text: str) -> Path:
    file = folder / "settings.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_no_file_is_all_defaults(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PULLCALL_SETTINGS", str(tmp_path / "none.toml"))
    assert read_settings() == Settings()


def test_every_value_is_taken(tmp_path: Path) -> None:
    file = write(tmp_path, '[head]\nwidth = "16 in"\ngap_least = "3 1/2 in"\n[voice]\nrate = 130\n')
    found = read_settings(file)
    assert (found.head.width, found.head.gap_least, found.rate) == (inches(16), inches("7/2"), 130)


def test_environment_names_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PULLCALL_SETTINGS", str(write(tmp_path, "[voice]\nrate = 200\n")))
    assert read_settings().rate == 200


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("[voice\n", "cannot be read"),
        ("[voice]\nrate = 90\n", "voice.rate = 90"),
        ("[voice]\nrate = true\n", "voice.rate = True"),
        ("[voice]\nspeed = 150\n", "voice.speed"),
        ("[colour]\nrate = 150\n", "colour"),
        ("rate = 150\n", "rate"),
        ('[head]\nwidth = "15"\n', "head.width = 15"),
        ('[head]\ngap_least = "5 in"\n', "head.gap_least = 5 in"),
        ('[job]\norder = "widdershins"\n', "job.order = widdershins"),
        ("[job]\norder = 3\n", "job.order = 3"),
    ],
)
def test_a_wrong_value_names_file_key_and_value(tmp_path: Path, text: str, named: str) -> None:
    file = write(tmp_path, text)
    with pytest.raises(Refusal) as caught:
        read_settings(file)
    assert caught.value.code is Exit.BAD_SETTINGS
    assert str(file) in caught.value.line
    assert named in caught.value.line
    assert "\n" not in caught.value.line


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", None])
def test_unreadable_files_are_refused(tmp_path: Path, content: bytes | None) -> None:
    file = tmp_path / "settings.toml"
    if content is None:
        file.mkdir()
    else:
        file.write_bytes(content)
    with pytest.raises(Refusal, match="cannot be read"):
        read_settings(file)
