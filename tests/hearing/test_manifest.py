"""The manifest: read whole, or refused with file and line."""

from pathlib import Path

import pytest

from assistant.exits import Exit, Refusal
from assistant.hearing.manifest import Item, read_manifest, told, write_manifest

HEAD = "file\task\ttext\tmeaning\tvoice\tseed"
GOOD = "a.ogg\tpull\tthree eighths\treading 3/8 in\tam_x\t7"


def written(folder: Path, *lines: str) -> Path:
    (folder / "a.ogg").write_bytes(b"sound")
    (folder / "b.ogg").write_bytes(b"sound")
    file = folder / "manifest.tsv"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


def test_it_reads_what_it_wrote(tmp_path: Path) -> None:
    items = [
        Item(tmp_path / "a.ogg", "pull", "three eighths", "reading 3/8 in", "am_x", 7, "task"),
        Item(tmp_path / "b.ogg", "size", "two by fours", "none", "human:fcaw", 8, "near"),
    ]
    written(tmp_path)
    write_manifest(items, tmp_path / "manifest.tsv")
    assert read_manifest(tmp_path / "manifest.tsv") == items
    assert [each.inside for each in items] == [True, False]
    assert [each.human for each in items] == [False, True]


def test_the_kind_may_be_left_out(tmp_path: Path) -> None:
    file = written(tmp_path, HEAD, GOOD, "", "b.ogg\tpull\tcooked\tnone\tam_x\t8")
    assert [each.kind for each in read_manifest(file)] == ["task", "other"]


def test_attention_words_may_be_measured(tmp_path: Path) -> None:
    file = written(tmp_path, HEAD, "a.ogg\tattention\twake up stretcher\tattention\tam_x\t8")
    assert [each.meaning for each in read_manifest(file)] == ["attention"]


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("a.ogg\tpull\tthree eighths", "3 cells"),
        (GOOD.replace("pull", "pulls"), "ask 'pulls' is unknown; one of choose, close, "),
        (GOOD.replace("\t7", "\tseven"), "seed 'seven' is no whole number"),
        (GOOD.replace("a.ogg", "c.ogg"), "recording 'c.ogg' is not there"),
        (GOOD.replace("a.ogg", ""), "named twice or not at all"),
        (GOOD.replace("3/8 in", "5/8 in"), "'three eighths' at ask pull means 'reading 3/8 in'"),
        (GOOD.replace("three", "thre"), "means 'none'"),
    ],
)
def test_a_broken_line_is_refused_by_file_and_line(tmp_path: Path, line: str, why: str) -> None:
    file = written(tmp_path, HEAD, GOOD.replace("a.ogg", "b.ogg"), line)
    with pytest.raises(Refusal) as refused:
        read_manifest(file)
    assert refused.value.code is Exit.USAGE
    assert refused.value.line.startswith(f"{file} line 3: ")
    assert why in refused.value.line


@pytest.mark.parametrize(
    ("lines", "why"), [((HEAD,), "no recording"), (("file\task",), "column text"), ((HEAD, GOOD, GOOD), "twice")]
)
def test_a_manifest_of_the_wrong_shape(tmp_path: Path, lines: tuple[str, ...], why: str) -> None:
    with pytest.raises(Refusal, match=why):
        read_manifest(written(tmp_path, *lines))


def test_no_manifest_at_all(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="No such file"):
        read_manifest(tmp_path / "manifest.tsv")
    (tmp_path / "manifest.tsv").write_bytes(b"\xff\xfe\xfa")
    with pytest.raises(Refusal, match="not UTF-8"):
        read_manifest(tmp_path / "manifest.tsv")


def test_nothing_understood_is_none() -> None:
    assert told(None) == "none"
