"""Settings: defaults, every value, and one clear line for each way to get it wrong."""

from pathlib import Path

import pytest

from assistant.core.kit import Kit, Tube
from assistant.core.length import feet, inches
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


def test_tones_can_be_turned_off(tmp_path: Path) -> None:
    assert Settings().tones
    assert not read_settings(write(tmp_path, "[voice]\ntones = false\n")).tones


@pytest.mark.parametrize("wait", [0, 10, 120])
def test_silence_is_asked_again_after_a_set_wait_or_never(tmp_path: Path, wait: int) -> None:
    assert read_settings(write(tmp_path, f"[dialogue]\nask_again_s = {wait}\n")).ask_again_s == wait


def test_environment_names_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PULLCALL_SETTINGS", str(write(tmp_path, "[voice]\nrate = 200\n")))
    assert read_settings().rate == 200


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("[voice\n", "cannot be read"),
        ("[voice]\nrate = 90\n", "voice.rate = 90"),
        ("[voice]\nrate = true\n", "voice.rate = True"),
        (
            "[dialogue]\nask_again_s = 5\n",
            "dialogue.ask_again_s = 5: must be 0 = never, or a whole number from 10 to 120",
        ),
        ("[dialogue]\nask_again_s = true\n", "dialogue.ask_again_s = True"),
        ('[dialogue]\nask_again_s = "20"\n', "dialogue.ask_again_s = '20'"),
        ("[voice]\ntones = 1\n", "voice.tones = 1: must be true or false"),
        ("[voice]\nspeed = 150\n", "voice.speed = 150: unknown key; allowed: rate, tones"),
        ("[colour]\nrate = 150\n", "colour = {'rate': 150}: unknown key; allowed: job, head, kit, room, voice"),
        ("rate = 150\n", "rate = 150: unknown key; allowed: job, head"),
        ('[head]\nwidth = "15"\n', "head.width = '15'"),
        ('[head]\ngap_least = "5 in"\n', "head.gap_least = '5 in': gap_least, 5 in, must be at most gap_most, 4 in"),
        ('[head]\ngap_most = "2 in"\n', "head.gap_most = '2 in': gap_least, 3 in, must be at most gap_most, 2 in"),
        ('[head]\nwidth = "0 in"\n', "head.width = '0 in': must be a length"),
        ('[job]\norder = "widdershins"\n', "job.order = 'widdershins'"),
        ("[job]\norder = 3\n", "job.order = 3"),
        ('[head]\ndistance = "8 in"\n', "head.distance = '8 in': must be from 1 in to 6 in"),
        ("kit = 3\n", "kit = 3: must be a table"),
        ('[kit]\nhandle = "3 in"\n', "kit.handle"),
        ('[kit]\nhead = "2 ft 3 cm"\n', "kit.head: 2 ft 3 cm must be a length"),
        ('[kit]\nhead = """2\nspoons"""\n', "kit.head: 2 spoons must be a length"),
        ('[kit]\nhead = "40 ft"\n', "kit.head: 40 ft must be from 6 in to 10 ft"),
        ('[kit]\nwindow = "4 in"\n', "kit.window: 4 in is more than half the lever's travel"),
        ("[kit]\ntubes = 3\n", "kit.tubes: 3 must be a list"),
        ("[kit]\ntubes = [3]\n", "kit.tubes[1]: 3 must be { length = '4 ft', count = 6 }"),
        ('[kit]\ntubes = [{ length = "4 ft" }]\n', "kit.tubes[1]: {'length': '4 ft'} must be"),
        ('[kit]\ntubes = [{ length = "4 ft", count = "6" }]\n', "kit.tubes[1].count: 6 must be a whole number"),
        ('[kit]\ntubes = [{ length = "4 ft", count = true }]\n', "kit.tubes[1].count: True must be a whole number"),
        ('[kit]\ntubes = [{ length = "4", count = 6 }]\n', "kit.tubes[1].length: 4 must be a length"),
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


def test_a_kit_is_taken_and_what_it_leaves_out_is_as_in_the_default_kit(tmp_path: Path) -> None:
    text = '[kit]\nwindow = "1 in"\ntubes = [{ length = "3 ft", count = 4 }]\n[head]\ndistance = "3 in"\n'
    found = read_settings(write(tmp_path, text))
    assert found.kit == Kit(window=inches(1), tubes=(Tube(feet(3), 4),))
    assert found.distance == inches(3)
    assert read_settings(write(tmp_path, "[kit]\n")).kit == Kit()
    assert read_settings(write(tmp_path, "")).kit is None


def test_the_settings_the_readme_shows_are_the_defaults(tmp_path: Path) -> None:
    readme = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
    shown = readme.split("```toml\n")[1].split("```")[0]
    assert read_settings(write(tmp_path, shown)) == Settings(kit=Kit())


def test_the_crew_goes_into_the_log(tmp_path: Path) -> None:
    file = tmp_path / "s.toml"
    file.write_text('[crew]\nname = " North "\nperson = "Ann"\n')
    started = read_settings(file).started("1", "none")
    assert (started.crew, started.person) == ("North", "Ann")
    assert Settings().started("1", "none").crew == ""


@pytest.mark.parametrize("name", ['""" \n """', "7", f'"{"x" * 61}"', r'"\u001b[2J"'])
def test_a_crew_is_a_name_in_one_line(tmp_path: Path, name: str) -> None:
    file = tmp_path / "s.toml"
    file.write_text(f"[crew]\nname = {name}\n")
    with pytest.raises(Refusal, match=r"crew\.name = .*must be a name in quotes, at most 60 signs in one line"):
        read_settings(file)
