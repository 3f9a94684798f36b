"""The aligner that needs no model of ours: PocketSphinx, on recordings that ship."""

import json
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.shelf import recordings_folder
from assistant.speech.grammars import lexicon
from assistant.train.align import Aligner, align_corpus, dictionary, read_alignments
from assistant.train.corpus import Alignment, CorpusWriter

POCKETSPHINX = pytest.mark.skipif(find_spec("pocketsphinx") is None, reason="needs pocketsphinx (extra 'train')")


def recordings(count: int) -> list[tuple[np.ndarray, tuple[str, ...]]]:
    """Sentences by a voice never trained on, with what is said."""
    folder = recordings_folder() / "evaluation"
    rows = [line.split("\t") for line in (folder / "manifest.tsv").read_text(encoding="utf-8").splitlines()[1:]]
    some = [row for row in rows if row[4] == "af_heart" and row[6] == "task" and len(row[2].split()) > 2][:count]
    return [(soundfile.read(folder / row[0], dtype="int16")[0], tuple(row[2].split())) for row in some]


def test_alignments_are_read_as_they_are_written(tmp_path: Path) -> None:
    """No pocketsphinx: the file by hand."""
    assert read_alignments(tmp_path) == []
    row = {"clip": 4, "words": [[["Y", 0.1], ["EH", 0.25]], [["N", 0.4]]], "ends": [0.4, 0.6]}
    (tmp_path / "alignment.jsonl").write_text(json.dumps(row) + "\n", encoding="utf-8")
    assert read_alignments(tmp_path) == [Alignment(4, ((("Y", 0.1), ("EH", 0.25)), (("N", 0.4),)), (0.4, 0.6))]


@POCKETSPHINX
def test_the_dictionary_says_our_words_our_way_and_others_in_all_their_ways() -> None:
    """'read' has two pronunciations in the CMU dictionary."""
    table = dictionary()
    assert {word: table[word] for word in lexicon()} == lexicon()
    assert set(table["read"]) == {("R", "EH", "D"), ("R", "IY", "D")}
    assert not [word for word in table if "(" in word]


def loud_stretch(sound: np.ndarray) -> tuple[float, float]:
    """First and last second at which a hundredth of a second is louder than a fiftieth of the peak."""
    level = np.abs(sound[: len(sound) // 160 * 160].astype(float)).reshape(-1, 160).max(1)
    loud = np.flatnonzero(level > level.max() / 50)
    return loud[0] * 0.01, (loud[-1] + 1) * 0.01


@POCKETSPHINX
def test_words_follow_each_other_inside_what_is_loud(tmp_path: Path) -> None:
    """The beginning and the end against the loudness alone, to a fifth of a second."""
    writer, given = CorpusWriter(tmp_path), recordings(3)
    for sound, words in given:
        writer.add(sound, "synthetic", "af_heart", "task", words)
    assert align_corpus(tmp_path) == 0
    found = read_alignments(tmp_path)
    assert [each.clip for each in found] == [0, 1, 2]
    for each, (sound, words) in zip(found, given, strict=True):
        assert [
            tuple(phone for phone, _ in word) in lexicon()[said] for word, said in zip(each.words, words, strict=True)
        ]
        times = [at for word in each.words for _, at in word]
        assert times == sorted(times)
        assert all(end <= word[0][1] + 1e-9 for end, word in zip(each.ends, each.words[1:], strict=False))
        begin, end = loud_stretch(sound)
        assert times[0] == pytest.approx(begin, abs=0.2)
        assert each.ends[-1] == pytest.approx(end, abs=0.2)


@POCKETSPHINX
def test_it_goes_on_where_it_stopped(tmp_path: Path) -> None:
    writer = CorpusWriter(tmp_path)
    for sound, words in recordings(2):
        writer.add(sound, "synthetic", "af_heart", "task", words)
    kept = '{"clip": 0, "words": [], "ends": []}\n'
    (tmp_path / "alignment.jsonl").write_text(kept, encoding="utf-8")
    assert align_corpus(tmp_path) == 0
    lines = (tmp_path / "alignment.jsonl").read_text(encoding="utf-8").splitlines(keepends=True)
    assert lines[0] == kept and [json.loads(line)["clip"] for line in lines] == [0, 1]
    assert align_corpus(tmp_path) == 0
    assert len(read_alignments(tmp_path)) == 2


@POCKETSPHINX
def test_another_text_does_not_fit() -> None:
    """Ten words said of a recording of three."""
    sound, words = recordings(1)[0]
    other = ("openings",) * 10
    aligner = Aligner([*words, *other], lexicon())
    assert aligner.align(0, words, sound) is not None
    assert aligner.align(0, other, sound) is None


@POCKETSPHINX
def test_times_are_the_clips_own() -> None:
    """Half a second of stillness put before it moves everything by half a second, to two hundredths."""
    sound, words = recordings(1)[0]
    aligner = Aligner(words, lexicon())
    here = aligner.align(0, words, sound)
    later = aligner.align(0, words, np.concatenate([np.zeros(8000, np.int16), sound]))
    assert here is not None and later is not None
    moved = [two[0][1] - one[0][1] for one, two in zip(here.words, later.words, strict=True)]
    assert moved == pytest.approx([0.5] * len(words), abs=0.05)
    assert all(one < two for one, two in pairwise(here.ends))
