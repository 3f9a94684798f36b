"""Model folders, ours and others: whole ones load, all else is one line that names the file."""

import errno
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.exits import Exit, Refusal
from assistant.shelf import model_folder
from assistant.speech import model as module
from assistant.speech.grammars import asks
from assistant.speech.model import ForeignModel, OwnModel, missing_words, open_model

OWN = model_folder()
TREE = Path(__file__).parents[2]


@pytest.fixture
def own(tmp_path: Path) -> Path:
    return Path(shutil.copytree(OWN, tmp_path / "own"))


@pytest.fixture
def foreign(tmp_path: Path) -> Path:
    """A Vosk folder as others lay it out: one grammar graph, no checksums."""
    folder = tmp_path / "foreign"
    for part in ("am", "conf", "graph"):
        shutil.copytree(OWN / part, folder / part)
    shutil.move(folder / "graph" / "asks" / "pull.fst", folder / "graph" / "Gr.fst")
    shutil.rmtree(folder / "graph" / "asks")
    return folder


@pytest.fixture
def old(foreign: Path, tmp_path: Path) -> Path:
    """The older flat layout."""
    folder = tmp_path / "old"
    folder.mkdir()
    for name in ("am/final.mdl", "conf/mfcc.conf", "graph/phones/word_boundary.int"):
        shutil.copy(foreign / name, folder)
    for name in ("HCLr.fst", "Gr.fst", "disambig_tid.int", "words.txt"):
        shutil.copy(foreign / "graph" / name, folder)
    return folder


def refused(folder: Path) -> str:
    with pytest.raises(Refusal) as told:
        open_model(folder).recogniser("pull")
    assert told.value.code is Exit.BAD_MODEL
    assert "\n" not in told.value.line
    assert str(folder) in told.value.line
    return told.value.line


FETCHERS = """
import sys
from assistant.speech.model import open_model
open_model().recogniser("pull")
print(*{"requests", "tqdm", "urllib.request", "http", "ssl"} & set(sys.modules))
import urllib.request
print(urllib.request.Request)
"""


def test_nothing_that_fetches_is_loaded_nor_kept_from_others() -> None:
    """Vosk would: 7 MB, all day long."""
    done = subprocess.run([sys.executable, "-c", FETCHERS], cwd=TREE, capture_output=True, text=True, check=True)
    assert done.stdout == "\n<class 'urllib.request.Request'>\n"


HELD = """
import json, sys
from assistant.speech.model import open_model
model = open_model()
json.held, sys.held = (model, model.recogniser("pull")), json
"""


def test_a_model_that_is_held_to_the_end_of_the_process_goes_in_silence() -> None:
    """Vosk's own code complains aloud where its module is gone before its models are."""
    done = subprocess.run([sys.executable, "-c", HELD], cwd=TREE, capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")


def test_the_shipped_model_loads_every_ask() -> None:
    model = open_model()
    assert isinstance(model, OwnModel)
    for ask in asks():
        assert model.recogniser(ask).AcceptWaveform(bytes(3200)) == 0


def test_one_ask_stays_loaded_and_is_let_go_before_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    loads: list[str] = []
    load = OwnModel._load

    def counted(self: OwnModel, ask: str) -> object:
        assert self._model is None
        loads.append(ask)
        return load(self, ask)

    monkeypatch.setattr(OwnModel, "_load", counted)
    model = OwnModel(OWN)
    first, second, *_ = asks()
    for ask in (first, first, second, second, first):
        model.recogniser(ask)
    assert loads == [first, second, first]


@pytest.mark.parametrize("links", [True, False])
def test_loading_leaves_nothing_behind_with_links_or_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    def no_links(source: object, target: object) -> None:
        raise OSError(18, "Invalid cross-device link")

    if not links:
        monkeypatch.setattr(module.os, "link", no_links)
    monkeypatch.setattr(module.tempfile, "tempdir", str(tmp_path))
    open_model().recogniser("pull")
    assert list(tmp_path.iterdir()) == []


def test_a_temporary_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module.tempfile, "tempdir", str(tmp_path / "none"))
    with pytest.raises(Refusal) as told:
        open_model().recogniser("pull")
    assert told.value.code is Exit.NOT_WRITABLE
    assert str(tmp_path / "none") in told.value.line


def test_a_temporary_folder_without_room_is_named_with_the_reason(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(source: object, target: object) -> None:
        raise OSError(errno.EXDEV, "Invalid cross-device link")

    def full(source: object, target: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", str(target))

    monkeypatch.setattr(module.os, "link", no_links)
    monkeypatch.setattr(module.shutil, "copyfile", full)
    monkeypatch.setattr(module.tempfile, "tempdir", str(tmp_path))
    with pytest.raises(Refusal, match=f"^{tmp_path}/.*: cannot be written .No space left on device.; free it or set"):
        open_model().recogniser("pull")


def _flip(file: Path) -> None:
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    file.write_bytes(content)


def _cut(file: Path) -> None:
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])


@pytest.mark.parametrize("name", ["am/final.mdl", "conf/model.conf", "graph/HCLr.fst", "graph/asks/pull.fst"])
@pytest.mark.parametrize("harm", [_flip, _cut])
def test_a_wrong_checksum_is_refused_by_name(own: Path, name: str, harm: Callable[[Path], None]) -> None:
    harm(own / name)
    assert f"{name} has a wrong checksum" in refused(own)


def test_half_of_ours_is_refused_by_name(own: Path) -> None:
    (own / "graph" / "HCLr.fst").unlink()
    assert "graph/HCLr.fst is missing" in refused(own)


def test_no_checksums_damaged_ones_and_incomplete_ones(own: Path) -> None:
    sums = own / "SHA256SUMS"
    text = sums.read_text(encoding="utf-8")
    sums.write_text("".join(f"{line}\n" for line in text.splitlines() if "HCLr" not in line), encoding="utf-8")
    assert "does not list graph/HCLr.fst" in refused(own)
    sums.write_text("".join(f"{line}\n" for line in text.splitlines() if "pull.fst" not in line), encoding="utf-8")
    assert "no graph for pull" in refused(own)
    sums.write_bytes(b"\xff\xfe nonsense")
    assert "SHA256SUMS is damaged" in refused(own)
    sums.unlink()
    assert "SHA256SUMS is missing" in refused(own)


def test_no_folder_a_file_and_a_folder_of_something_else(tmp_path: Path) -> None:
    assert "no such folder" in refused(tmp_path / "none")
    (tmp_path / "file").write_text("x")
    assert "no such folder" in refused(tmp_path / "file")
    (tmp_path / "empty").mkdir()
    assert "is no Vosk model" in refused(tmp_path / "empty")


@pytest.mark.parametrize("layout", ["foreign", "old"])
def test_other_layouts_load_with_a_grammar_at_run_time(layout: str, request: pytest.FixtureRequest) -> None:
    folder: Path = request.getfixturevalue(layout)
    model = open_model(folder)
    assert isinstance(model, ForeignModel)
    assert model.name == layout
    assert model.recogniser("confirm").AcceptWaveform(bytes(3200)) == 0


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("am/final.mdl", "lacks am/final.mdl"),
        ("conf/model.conf", "lacks am/final.mdl or conf/model.conf"),
        ("graph/HCLr.fst", "graph/HCLr.fst is missing"),
        ("graph/Gr.fst", "graph/Gr.fst is missing"),
        ("graph/disambig_tid.int", "graph/disambig_tid.int is missing"),
    ],
)
def test_half_a_foreign_model(foreign: Path, name: str, said: str) -> None:
    (foreign / name).unlink()
    assert said in refused(foreign)


@pytest.mark.parametrize(
    ("name", "kind"), [("am/final.mdl", "acoustic model"), ("graph/HCLr.fst", "graph"), ("graph/Gr.fst", "graph")]
)
@pytest.mark.parametrize("content", [b"", b"version https://git-lfs.github.com/spec/v1\n"])
def test_a_file_of_another_kind(foreign: Path, name: str, kind: str, content: bytes) -> None:
    (foreign / name).write_bytes(content)
    assert f"{name} is no {kind}" in refused(foreign)


@pytest.mark.parametrize("name", ["am/final.mdl", "graph/HCLr.fst", "graph/Gr.fst"])
def test_a_cut_off_file_does_not_end_the_process(foreign: Path, name: str) -> None:
    _cut(foreign / name)
    assert "vosk cannot load it" in refused(foreign)


def test_words_a_model_does_not_know_are_named(foreign: Path) -> None:
    table = foreign / "graph" / "words.txt"
    text = table.read_text(encoding="utf-8").replace("hooked ", "hookedx ").replace("eighths ", "eighthsx ")
    table.write_text(text, encoding="utf-8")
    assert "its vocabulary lacks eighths, hooked;" in refused(foreign)


def test_missing_words_are_sorted() -> None:
    assert missing_words(lambda word: word not in ("yes", "no")) == ["no", "yes"]
