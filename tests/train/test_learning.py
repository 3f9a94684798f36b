"""The learning curve's page from a table of points made up here; shares and interval worked out by hand."""

from pathlib import Path
from xml.etree import ElementTree as Xml

import pytest

from assistant.exits import Exit, Refusal
from assistant.train.__main__ import main
from assistant.train.learning import COLUMNS, learning_pictures, read_points

ROWS = (
    "2\t0\tclean\t10\t5\t4\t1",
    "2\t800\tclean\t10\t8\t4\t1",
    "8\t0\tclean\t10\t6\t4\t1",
    "8\t800\tclean\t10\t10\t4\t0",
)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return written(tmp_path, *ROWS)


def written(folder: Path, *rows: str) -> Path:
    file = folder / "learning.tsv"
    file.write_text("\n".join(("\t".join(COLUMNS), *rows)) + "\n", encoding="utf-8")
    return file


def test_the_page_gives_every_point_with_its_interval(file: Path) -> None:
    """5 of 10: 50 %, Wilson's 95 % interval 23.7 to 76.3 (Brown, Cai and DasGupta 2001; worked out by hand)."""
    assert main(["learning", "--points", str(file)]) == 0
    page = file.with_suffix(".md").read_text(encoding="utf-8")
    assert "| 2 | 0 | clean | 50.0 (23.7-76.3) | 25.0 (4.6-69.9) |" in page
    assert page.count("| clean |") == len(ROWS)
    for picture in ("learning-hours.svg", "learning-steps.svg"):
        assert picture in page
        assert (file.parent / picture).is_file()


def test_the_curves_are_drawn_at_the_most_steps_and_with_the_most_hours(file: Path) -> None:
    made = {name: Xml.fromstring(each) for name, each in learning_pictures(read_points(file)).items()}
    texts = {name: [each.text for each in picture.iter(f"{SVG}text")] for name, picture in made.items()}
    assert "Sentences right after 800 steps" in texts["learning-hours.svg"]
    assert "Sentences right with 8 hours" in texts["learning-steps.svg"]
    assert {"2", "8"} <= set(texts["learning-hours.svg"])
    assert {"0", "800"} <= set(texts["learning-steps.svg"])
    heights = {name: [each.get("cy") for each in picture.iter(f"{SVG}circle")] for name, picture in made.items()}
    # 50 to 100 % stand 320 apart, 100 % at 40: 80 % at 168, 60 % at 296.
    assert heights == {"learning-hours.svg": ["168.0", "40.0"], "learning-steps.svg": ["296.0", "40.0"]}


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("2\tmany\tclean\t10\t5\t4\t1", "write figures only"),
        ("2\t0\tclean\t10\t11\t4\t1", "a part no more than its whole"),
        ("0\t0\tclean\t10\t5\t4\t1", "hours must be above 0"),
        ("2\t0\tclean\t10\t5\t4", "6 cells"),
    ],
)
def test_a_broken_line_is_named(row: str, why: str, tmp_path: Path) -> None:
    with pytest.raises(Refusal, match=f"learning.tsv line 3: .*{why}") as refused:
        read_points(written(tmp_path, ROWS[0], row))
    assert refused.value.code == Exit.USAGE


def test_a_table_without_points_or_none_at_all_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="no point"):
        read_points(written(tmp_path))
    with pytest.raises(Refusal, match="cannot be read"):
        read_points(tmp_path / "none.tsv")
