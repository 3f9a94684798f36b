"""`pullcall evaluate` as a user calls it."""

import shutil
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.exits import Exit
from assistant.hearing.options import ENGINES
from assistant.shelf import recordings_folder


@pytest.fixture
def manifest(tmp_path: Path) -> Path:
    """'yes' and 'hooked' of the demo, each as it is said first, and 'yes' where it is no sentence."""
    demo, names = recordings_folder() / "demo", dict[str, str]()
    for row in (demo / "playlist.tsv").read_text().splitlines():
        names.setdefault(row.split("\t")[1], row.split("\t")[0])
    rows = ["file\task\ttext\tmeaning\tvoice\tseed"]
    spoken = (("confirm", "yes", "yes"), ("pull", "hooked", "hooked"), ("pull", "yes", "none"))
    for file, (ask, text, means) in enumerate(spoken):
        shutil.copy(demo / names[text], tmp_path / f"{file}.ogg")
        rows.append(f"{file}.ogg\t{ask}\t{text}\t{means}\tam_x\t{file}")
    (tmp_path / "manifest.tsv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return tmp_path / "manifest.tsv"


def test_the_table_goes_to_stdout_and_the_page_to_its_folder(
    manifest: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["evaluate", str(manifest), "--noise", "vacuum", "--snr", "10", "--out", str(out)]) == Exit.DONE
    told = capsys.readouterr()
    assert told.out.splitlines()[2].startswith("| clean | 100.0 (34.2-100.0) |")
    assert told.out.splitlines()[3].startswith("| vacuum 10 dB |")
    assert "6 of 6 heard" in told.err
    assert {each.name for each in out.iterdir()} == {"results.md", "right.svg", "accepted.svg", "outcomes.tsv"}
    assert "2 sentences and 1 recording of other speech" in (out / "results.md").read_text(encoding="utf-8")
    rows = (out / "outcomes.tsv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 7
    assert rows[1].split("\t")[:7] == ["ours", "clean", "0.ogg", "confirm", "yes", "yes", "yes"]


def test_the_other_engine_is_refused_before_the_first_has_heard_anything(
    manifest: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["evaluate", str(manifest), "--against", "vosk"]) == Exit.USAGE
    told = capsys.readouterr()
    assert told.err.startswith("pullcall: engine vosk: no model; name its folder with --model (--against-model ")
    assert not told.out and told.err.count("\n") == 1


def test_the_same_ears_do_not_differ(manifest: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["evaluate", str(manifest), "--noise", "--limit", "2", "--against", "ours"]) == Exit.DONE
    told = capsys.readouterr()
    assert "clean: only ours right 0, only ours (the other) right 0, p 1" in told.out
    assert "ours: 2 of 2 heard" in told.err


@pytest.mark.parametrize(
    ("arguments", "code", "why"),
    [
        (["--limit", "0"], Exit.USAGE, "--limit 0: must be 1 or more"),
        (["--noise", "thunder"], Exit.USAGE, "invalid choice: 'thunder'"),
        (["--engine", "vosk"], Exit.USAGE, "engine vosk: no model"),
        (["--engine", "pocketsphinx", "--model", "nowhere"], Exit.USAGE, "brings its own; leave the folder out"),
        (["--against-model", "older"], Exit.USAGE, "--against-model older: nobody listens with it; add --against ours"),
        (["--model", "nowhere"], Exit.BAD_MODEL, "model nowhere: no such folder"),
    ],
)
def test_wrong_calls_are_told_in_one_line(
    manifest: Path, arguments: list[str], code: Exit, why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        found = main(["evaluate", str(manifest), *arguments])
    except SystemExit as ended:
        found = int(str(ended.code))
    assert found == code
    (line,) = capsys.readouterr().err.splitlines()
    assert why in line


def test_the_help_tells_of_every_engine_whether_it_takes_a_model(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["evaluate", "--help"])
    told = " ".join(capsys.readouterr().out.split()).split("--model DIR Vosk model folder: ")[1].split(" --against")[0]
    assert [each for each in ENGINES if each not in told] == []


def test_a_broken_manifest_is_told_by_line(manifest: Path, capsys: pytest.CaptureFixture[str]) -> None:
    manifest.write_text(manifest.read_text().replace("hooked\thooked", "hooked\tslipped"), encoding="utf-8")
    assert main(["evaluate", str(manifest)]) == Exit.USAGE
    assert "manifest.tsv line 3: meaning 'slipped'" in capsys.readouterr().err


def test_a_folder_that_cannot_be_written(manifest: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["evaluate", str(manifest), "--noise", "--limit", "1", "--out", str(manifest / "x")]
    assert main(arguments) == Exit.NOT_WRITABLE
    assert "name another --out" in capsys.readouterr().err
