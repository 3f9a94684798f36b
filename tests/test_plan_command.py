"""`pullcall plan` as a user types it."""

import json
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.exits import Exit


def plan(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(["plan", *arguments]) == Exit.DONE
    shown = capsys.readouterr()
    assert shown.err == ""
    return shown.out


def test_text_shows_passes_pulls_and_bands(capsys: pytest.CaptureFixture[str]) -> None:
    out = plan(capsys, "16 ft 2 in", "12 ft 3 5/8 in")
    assert "pass 1: cross, tie-off, to the right wall" in out
    assert "pass 2: length, rest, to the far wall" in out
    # 12 ft 3 5/8 in: 1 1/2 and 2 3/16 in on the tape (checks.md, derived from CRI 2011 s.16.5.2 [published])
    assert "12 ft 3 5/8 in  1 1/2 in     2 3/16 in" in out


def test_json_is_exact(capsys: pytest.CaptureFixture[str]) -> None:
    found = json.loads(plan(capsys, "5 m", "4 m", "--json"))
    pulls = [pull for each in found["passes"] for pull in each["pulls"]]
    # 4 m: 40 and 60 mm; 5 m: 50 and 75 mm (checks.md, derived)
    bands = {(each["span"]["tape"], each["least"]["tape"], each["most"]["tape"]) for each in pulls}
    assert bands == {("4 m", "40 mm", "60 mm"), ("5 m", "50 mm", "75 mm")}
    assert [each["number"] for each in pulls] == list(range(1, len(pulls) + 1))


def test_the_makers_figure_governs(capsys: pytest.CaptureFixture[str]) -> None:
    out = plan(capsys, "10 ft", "10 ft", "--construction", "woven", "--figure-length", "2")
    assert "length    2 % (maker)" in out
    assert "cross     no figure from the maker: no verdict" in out


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("0 ft", "12 ft"), "zero"),
        (("-3 ft", "12 ft"), "negative"),
        (("16", "12 ft"), "'16'"),
        (("16 cubits", "12 ft"), "cubits"),
        (("16 ft 20 cm", "12 ft"), "mixes"),
        (("16 ft", "4 m"), "Feet or metres? This room is in feet"),
        (("16 ft", "400 ft"), "too long"),
        (("16 ft", "1 in"), "too short"),
        (("16 ft", "12 ft", "--figure-length", "x"), "'x'"),
        (("16 ft", "12 ft", "--figure-width", "2-1"), "'2-1'"),
        (("16 ft", "12 ft", "--figure-width", "1/0"), "'1/0'"),
    ],
)
def test_what_cannot_be_is_one_line(capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], named: str) -> None:
    assert main(["plan", *arguments]) == Exit.BAD_SIZE
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    assert named in shown.err


@pytest.mark.parametrize("name", ["rooms", "rooms.toml"])
def test_a_folder_is_told_to_be_one(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / name
    folder.mkdir()
    assert main(["plan", str(folder)]) == Exit.USAGE
    assert capsys.readouterr().err == f"pullcall: {folder}: is a folder; name a room file (.toml) in it\n"
