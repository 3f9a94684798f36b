"""The three bad inputs of making a model, by the commands themselves: a word without pronunciation, a broken line of a
manifest, a model folder with a wrong checksum. Expected lines: written here by hand.
"""

import shutil
import subprocess
import sys
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.exits import Exit, Refusal
from assistant.shelf import grammars_folder, model_folder
from assistant.train.__main__ import main
from assistant.train.align import align_corpus, read_alignments
from assistant.train.corpus import CorpusWriter, add_people, check_words, read_clips
from assistant.train.kaldi import FormatError
from assistant.train.lexicon import phone_table
from assistant.train.outcome import outcome
from assistant.train.recordings import rebuild
from assistant.train.speakers import Kokoro

HEAD = "path\tspeaker\ttext\tlicence\tseconds"
DICTIONARY = {"hello": [("HH", "AH", "L", "OW")], "there": [("DH", "EH", "R")], "b.": [("B", "IY")]}
POCKETSPHINX = pytest.mark.skipif(find_spec("pocketsphinx") is None, reason="needs pocketsphinx (extra 'train')")
TORCH = pytest.mark.skipif(
    find_spec("torch") is None or find_spec("pocketsphinx") is None, reason="needs torch, pocketsphinx (extra 'train')"
)
TOOLS = pytest.mark.skipif(
    shutil.which("fstconvert") is None or find_spec("pynini") is None,
    reason="needs pynini (extra 'train') and OpenFst's fstconvert",
)


@pytest.fixture
def people(tmp_path: Path) -> Path:
    """Two recorded clips."""
    folder = tmp_path / "people"
    (folder / "set").mkdir(parents=True)
    for name in ("a", "b"):
        soundfile.write(folder / "set" / f"{name}.wav", np.ones(1600, np.int16), 16000)
    (folder / "machine_text.tsv").write_text("path\ttext\tmean\nb.wav\tThere, b!\t-0.1\n", encoding="utf-8")
    write_manifest(folder)
    return folder


def write_manifest(folder: Path, *lines: str) -> None:
    rows = [HEAD, "set/a.wav\tann\thello\tours\t0.1", "set/b.wav\tben\t\tours\t0.1", *lines]
    (folder / "manifest.tsv").write_text("\n".join(rows) + "\n", encoding="utf-8")


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("set/c.wav\tann", r"line 4: 2 cells; must be 5, one tab between two"),
        ("set/c.wav\tann\thello\tours\t0.1\tmore", r"line 4: 6 cells; must be 5"),
        ("set/c.wav\tann\thello\tours\t0.1", r"line 4: recording 'set/c\.wav' is not there"),
    ],
)
def test_a_broken_line_of_peoples_manifest_is_named_and_nothing_is_written(
    tmp_path: Path, people: Path, line: str, why: str
) -> None:
    write_manifest(people, line)
    with pytest.raises(Refusal, match=rf"people/manifest\.tsv {why}") as refused:
        add_people(CorpusWriter(tmp_path / "corpus"), people, DICTIONARY)
    assert refused.value.code == Exit.USAGE
    assert read_clips(tmp_path / "corpus") == []


def test_a_manifest_without_its_columns_is_named(tmp_path: Path, people: Path) -> None:
    (people / "manifest.tsv").write_text("path\tspeaker\nset/a.wav\tann\n", encoding="utf-8")
    with pytest.raises(Refusal, match=r"manifest\.tsv line 1: lacks the column text"):
        add_people(CorpusWriter(tmp_path / "corpus"), people, DICTIONARY)


@pytest.mark.parametrize(("rate", "axes"), [(8000, 1), (16000, 2)])
def test_a_recording_of_another_rate_or_in_stereo_is_named(tmp_path: Path, people: Path, rate: int, axes: int) -> None:
    soundfile.write(people / "set" / "b.wav", np.ones((1600, axes), np.int16), rate)
    with pytest.raises(Refusal, match=rf"set/b\.wav: {rate} Hz, {axes} axes; must be 16 kHz mono"):
        add_people(CorpusWriter(tmp_path / "corpus"), people, DICTIONARY)


def test_a_recording_that_is_no_sound_is_named(tmp_path: Path, people: Path) -> None:
    (people / "set" / "a.wav").write_text("no sound", encoding="utf-8")
    with pytest.raises(Refusal, match=r"set/a\.wav: no sound"):
        add_people(CorpusWriter(tmp_path / "corpus"), people, DICTIONARY)


@POCKETSPHINX
def test_the_command_for_people_refuses_by_file_and_line(
    tmp_path: Path, people: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_manifest(people, "set/c.wav")
    code = main(["people", "--corpus", str(tmp_path / "corpus"), "--folder", str(people)])
    said = capsys.readouterr()
    assert (code, said.out) == (Exit.USAGE, "")
    assert said.err == f"assistant.train: {people}/manifest.tsv line 4: 1 cells; must be 5, one tab between two\n"


@pytest.mark.parametrize("line", ['{"start": 0}', "[1, 2", '{"start": 0, "size": 1, "colour": 2, "words": []}', "7"])
def test_a_broken_line_of_a_corpus_is_named(tmp_path: Path, line: str) -> None:
    CorpusWriter(tmp_path).add(np.zeros(9, np.int16), "synthetic", "x", "task", ["yes"])
    with (tmp_path / "clips.jsonl").open("a", encoding="utf-8") as clips:
        print(line, file=clips)
    with pytest.raises(Refusal, match=r"clips\.jsonl line 2: is broken"):
        read_clips(tmp_path)


def test_a_broken_line_of_an_alignment_is_named(tmp_path: Path) -> None:
    whole = '{"clip": 3, "words": [[["Y", 0.1], ["EH", 0.2]]], "ends": [0.4]}'
    (tmp_path / "alignment.jsonl").write_text(f"{whole}\n{whole[:30]}\n", encoding="utf-8")
    with pytest.raises(Refusal, match=r"alignment\.jsonl line 2: is broken"):
        read_alignments(tmp_path)


PLAYLIST = "file\ttext\tvoice\tspeed\tnoise\tsnr_db\tseed"


class Mute(Kokoro):
    """Knows one voice and has no sound."""

    def __init__(self) -> None:
        self._styles = {"ann": np.zeros((1, 1), np.float32)}

    def say(self, text: str, who: object, speed: float) -> np.ndarray:
        return np.full(1600, int(self._styles[who.blend[0][0]][0, 0]) + 900, np.int16)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("2.ogg\tyes\tann\t1.0", "4 cells; must be 7"),
        ("2.ogg\tyes\tann\tfast\t\t\t1", "'fast' is no voice, noise or figure known here"),
        ("2.ogg\tyes\tbob\t1.0\t\t\t1", "'bob' is no voice, noise or figure known here"),
        ("2.ogg\tyes\tann\t1.0\tthunder\t10\t1", "'thunder' is no voice, noise or figure known here"),
    ],
)
def test_a_broken_line_of_the_playlist_is_named(tmp_path: Path, line: str, why: str) -> None:
    (tmp_path / "playlist.tsv").write_text(f"{PLAYLIST}\n1.ogg\tyes\tann\t1.0\t\t\t1\n{line}\n", encoding="utf-8")
    with pytest.raises(Refusal, match=rf"playlist\.tsv line 3: .*{why}"):
        rebuild(tmp_path, Mute())


@pytest.fixture
def model(tmp_path: Path) -> Path:
    """The model that ships, a byte of its word table changed."""
    made = shutil.copytree(model_folder(), tmp_path / "model")
    words = made / "graph" / "words.txt"
    words.write_bytes(words.read_bytes().replace(b"yes", b"yez"))
    return made


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    code = main(arguments)
    said = capsys.readouterr()
    assert (code, said.out) == (Exit.BAD_MODEL, "")
    return said.err


WRONG = "graph/words.txt has a wrong checksum; install pullcall again\n"


def test_evaluate_refuses_a_model_with_a_wrong_checksum(
    tmp_path: Path, model: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = refused(capsys, "evaluate", "--corpus", str(tmp_path), "--model", str(model))
    assert said == f"assistant.train: model {model}: {WRONG}"


@TORCH
def test_realign_refuses_a_model_with_a_wrong_checksum(
    tmp_path: Path, model: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = refused(capsys, "realign", "--corpus", str(tmp_path), "--model", str(model))
    assert said == f"assistant.train: model {model}: {WRONG}"


def test_pack_names_a_phone_table_of_another_model(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "graph").mkdir()
    (tmp_path / "graph" / "phones.txt").write_text(phone_table(["T", "UW"], {}), encoding="utf-8")
    np.savez(tmp_path / "weights.npz", **{"output.bias": np.zeros(8)})
    np.savez(tmp_path / "good.npz", **{"output.bias": np.zeros(6)})
    good, bad = (str(tmp_path / f"{name}.npz") for name in ("good", "weights"))
    for given in ([bad], [good, "--beside", bad]):
        said = refused(capsys, "pack", "--checkpoint", *given, "--model", str(tmp_path))
        assert f"{tmp_path}/graph/phones.txt: 6 outputs, {bad} has 8; take the table" in said


def test_pack_refuses_a_witness_of_two_networks(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["pack", "--witness", "--checkpoint", "a.npz", "--beside", "b.npz", "--model", str(tmp_path)])
    assert code == Exit.USAGE and "--beside: a witness is one network" in capsys.readouterr().err


def test_pack_names_the_phone_table_that_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    np.savez(tmp_path / "weights.npz", first=np.zeros(2))
    code = main(["pack", "--checkpoint", str(tmp_path / "weights.npz"), "--model", str(tmp_path)])
    assert code == Exit.USAGE and f"{tmp_path}/graph/phones.txt" in capsys.readouterr().err


def test_a_sentence_with_a_word_nobody_can_say_is_named(tmp_path: Path) -> None:
    writer = CorpusWriter(tmp_path)
    for words in (["hello", "there"], ["hello", "zorb"]):
        writer.add(np.zeros(9, np.int16), "synthetic", "x", "text", words)
    with pytest.raises(Refusal, match=r"clips\.jsonl line 2: 'zorb' has no pronunciation"):
        check_words(tmp_path, DICTIONARY)


@POCKETSPHINX
def test_align_names_a_word_nobody_can_say(tmp_path: Path) -> None:
    CorpusWriter(tmp_path).add(np.zeros(1600, np.int16), "synthetic", "x", "text", ["hello", "zorbq"])
    with pytest.raises(Refusal, match="'zorbq' has no pronunciation"):
        align_corpus(tmp_path)


@TOOLS
def test_the_graphs_are_not_built_with_a_grammar_word_the_lexicon_lacks(tmp_path: Path) -> None:
    """The command on grammars of their own, a word put into one; that it builds without: tests/speech/test_graphs."""
    grammars = shutil.copytree(grammars_folder(), tmp_path / "grammars")
    confirm = grammars / "confirm.jsgf"
    text = confirm.read_text(encoding="utf-8")
    assert "yes" in text
    confirm.write_text(text.replace("yes", "yes zorb", 1), encoding="utf-8")
    model = shutil.copytree(model_folder(), tmp_path / "model")
    before = {each: each.read_bytes() for each in model.rglob("*") if each.is_file()}
    script = (
        "import runpy, sys, pathlib, assistant.shelf as shelf;"
        f"shelf.grammars_folder = lambda: pathlib.Path({str(grammars)!r});"
        f"sys.argv = ['graph', {str(model)!r}]; runpy.run_module('assistant.train.graph', run_name='__main__')"
    )
    # In a process of its own: pynini and vosk cannot be loaded together.
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == Exit.USAGE
    assert done.stderr == "assistant.train: lexicon.txt lacks zorb: add a line 'word PHONE PHONE ...' for each\n"
    assert {each: each.read_bytes() for each in model.rglob("*") if each.is_file()} == before


@TOOLS
def test_the_graphs_are_not_built_with_the_cost_of_a_word_the_lexicon_lacks(tmp_path: Path) -> None:
    model = shutil.copytree(model_folder(), tmp_path / "model")
    costs = model / "graphs.toml"
    costs.write_text(costs.read_text(encoding="utf-8").split("[words]")[0] + "[words]\nzorb = 1\n", encoding="utf-8")
    before = {each: each.read_bytes() for each in model.rglob("*") if each.is_file()}
    command = [sys.executable, "-m", "assistant.train.graph", str(model)]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == Exit.USAGE
    assert done.stderr == f"assistant.train: {costs}: words: zorb is no word of the lexicon; correct it\n"
    assert {each: each.read_bytes() for each in model.rglob("*") if each.is_file()} == before


def fails(error: Exception) -> Callable[[], None]:
    def command() -> None:
        raise error

    return command


def test_bad_input_is_one_line_and_a_fault_of_the_program_is_not_hidden(capsys: pytest.CaptureFixture[str]) -> None:
    assert outcome(lambda: None) == Exit.DONE
    assert outcome(fails(FormatError("x.mdl: cut off"))) == Exit.BAD_MODEL
    assert outcome(fails(FileNotFoundError(2, "No such file", "there"))) == Exit.USAGE
    assert capsys.readouterr().err == (
        "assistant.train: x.mdl: cut off\nassistant.train: there: No such file; name another place\n"
    )
    with pytest.raises(ZeroDivisionError):
        outcome(fails(ZeroDivisionError()))


def test_people_run_again_adds_nobody_twice(tmp_path: Path, people: Path) -> None:
    counts = [add_people(CorpusWriter(tmp_path / "corpus"), people, DICTIONARY) for _ in range(2)]
    assert counts == [2, 0]
    clips = read_clips(tmp_path / "corpus")
    assert [(each.speaker, each.words) for each in clips] == [("ann", ("hello",)), ("ben", ("there", "b."))]
    with (people / "manifest.tsv").open("a", encoding="utf-8") as lines:
        print("set/a.wav\tann\thello\tours\t0.1", file=lines)
    assert add_people(CorpusWriter(tmp_path / "corpus"), people, DICTIONARY) == 1


@pytest.mark.parametrize("share", ["1.5", "-0.2", "some"])
def test_a_share_that_is_none_is_refused(share: str, capsys: pytest.CaptureFixture[str]) -> None:
    needed = [f"--{name}=x" for name in ("corpus", "phones", "speech-data", "checkpoint")]
    with pytest.raises(SystemExit):
        main(["train", *needed, f"--whispered={share}"])
    assert "argument --whispered" in capsys.readouterr().err
