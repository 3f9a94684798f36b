"""Long recordings cut into rows. Times are made up and reckoned by hand; every sample's value is its place."""

from collections.abc import Sequence
from pathlib import Path
from random import Random

import numpy as np
import pytest
import soundfile

from assistant.exits import Exit
from assistant.hearing.manifest import read_manifest
from assistant.train.__main__ import main
from assistant.train.corpus import Alignment, Clip, CorpusWriter
from assistant.train.cut_rows import Row, Word, pairs, row, rows, words
from assistant.train.lines import table

SAID = [
    Word("nine", 0.5, 0.9), Word("one", 1.0, 1.3), Word("six", 2.3, 2.7),
    Word("two", 2.8, 2.9), Word("four", 3.4, 3.8),
]  # fmt: skip
"""Of 4 s; 'two' is too short to be true."""
SIZE = 64_000


class Draws(Random):
    """Says what was written down."""

    def __init__(self, *drawn: int) -> None:
        super().__init__()
        self._drawn = list(drawn)

    def randint(self, a: int, b: int) -> int:
        assert (a, b) == (1, 4)
        return self._drawn.pop(0)


def test_words_are_the_alignments() -> None:
    clip = Clip(0, SIZE, "set", "ann", "people", ("nine", "one"))
    found = Alignment(0, ((("N", 0.5), ("AY", 0.7), ("N", 0.8)), (("W", 1.0),)), (0.9, 1.3))
    assert words(clip, found) == SAID[:2]


@pytest.mark.parametrize(
    ("first", "until", "made"),
    [
        (0, 1, Row("nine", 4_000, 15_200)),  # a quarter second before, half the gap behind
        (1, 2, Row("one", 15_200, 24_800)),  # the gap behind is long
        (0, 3, Row("nine one six", 4_000, 44_000)),
        (4, 5, Row("four", 50_400, 64_000)),  # the recording ends first
        (3, 4, None),
        (2, 5, None),
    ],
)
def test_a_row_is_cut_in_the_middle_of_the_gaps_or_a_quarter_second_away(
    first: int, until: int, made: Row | None
) -> None:
    assert row(SAID, first, until, SIZE) == made


def test_a_recording_is_rows_from_end_to_end_and_then_each_word_alone() -> None:
    texts = [each.text for each in rows(SAID, SIZE, Draws(2, 1, 4))]
    assert texts == ["nine one", "six", "nine", "one", "six", "four"], "the row with 'two' is left out"


def test_a_row_that_fits_no_batch_is_left_out() -> None:
    """From 0.25 s before the first to 0.25 s after the last word: 5.5 s just fit."""
    for end, texts in ((5.5, ["one", "two", "one two"]), (5.6, ["one", "two"])):
        said = [Word("one", 0.5, 1.0), Word("two", end - 0.4, end)]
        assert sorted(each.text for each in rows(said, 112_000, Draws(2))) == sorted(texts)


def test_pairs_are_those_that_mean_a_size() -> None:
    """'five zero' is no feet and inches; the last of an odd number stands alone."""
    texts = "nine one five zero six two one".split()
    said = [Word(each, place + 0.125, place + 0.5) for place, each in enumerate(texts)]
    assert pairs(said, 112_000) == [Row("nine one", 0, 28_000), Row("six two", 62_000, 92_000)]
    assert pairs([said[0], Word("one", 1.1, 1.2)], 32_000) == []


HEADER = "path\tspeaker\ttext\tlicence\n"
TRAINED, KEPT = "ann", "bob"
"""zlib's crc32 (RFC 1952) of the first leaves a rest by four, that of the second none."""


@pytest.fixture
def made(tmp_path: Path) -> Path:
    """Recordings, and a corpus of theirs and of somebody else's."""
    (tmp_path / "phones").mkdir()
    lines = [f"{who}.wav\t{who}\tnine one\tMIT\n" for who in (TRAINED, KEPT)]
    (tmp_path / "phones" / "manifest.tsv").write_text(HEADER + "".join(lines), encoding="utf-8")
    out, corpus = CorpusWriter(tmp_path / "corpus"), tmp_path / "corpus"
    for who in ("eve", TRAINED, KEPT):
        out.add(np.arange(32_000, dtype=np.int16), "phones", who, "people", ["nine", "one"])
    line = '{"clip": %d, "words": [[["N", 0.5]], [["W", 1.0]]], "ends": [0.9, 1.3]}\n'
    (corpus / "alignment.jsonl").write_text("".join(line % each for each in range(3)), encoding="utf-8")
    return tmp_path


def cut(place: Path, *more: str) -> int:
    names = {"folder": "phones", "corpus": "corpus", "out": "out", "kept": "kept"}
    options: Sequence[str] = [word for option, name in names.items() for word in (f"--{option}", str(place / name))]
    return main(["cut-rows", *options, *more])


def test_rows_go_into_the_speech_data_and_pairs_of_the_kept_speakers_apart(
    made: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Seed 5 draws a row of both words."""
    assert cut(made) == Exit.DONE
    assert capsys.readouterr().out == "rows to train on: 3, pairs kept: 1\n"
    manifest = (made / "out" / "manifest.tsv").read_text(encoding="utf-8").splitlines()
    assert manifest == [
        "path\tspeaker\ttext\tlicence\tseconds",
        "phones/00000.ogg\tann\tnine one\tMIT\t1.30",
        "phones/00001.ogg\tann\tnine\tMIT\t0.70",
        "phones/00002.ogg\tann\tone\tMIT\t0.60",
    ]
    assert [len(soundfile.read(made / "out" / f"phones/0000{each}.ogg")[0]) for each in range(3)] == [
        20_800, 11_200, 9_600,
    ]  # fmt: skip
    (pair,) = read_manifest(made / "kept" / "manifest.tsv")
    assert (pair.ask, pair.text, pair.meaning, pair.voice) == ("size", "nine one", "size 109 in", "human:bob")
    samples, rate = soundfile.read(pair.file, dtype="int16")
    assert (samples.tolist(), rate) == (list(range(4_000, 24_800)), 16_000)


def test_rows_are_added_to_a_copy_of_the_speech_data_by_its_columns(made: Path) -> None:
    (made / "out").mkdir()
    there = "text\tpath\tsource\nhello\tan4/a.ogg\ther\n"
    (made / "out" / "manifest.tsv").write_text(there, encoding="utf-8")
    assert cut(made, "--seed", "5") == Exit.DONE
    assert (made / "out" / "manifest.tsv").read_text(encoding="utf-8").startswith(there)
    rows_ = [told for _, told in table(made / "out" / "manifest.tsv", "path")][1:]
    assert rows_[1] == {"text": "nine", "path": "phones/00001.ogg", "source": ""}


@pytest.mark.parametrize("what", ["set", "line", "pairs", "alignment", "licence"])
def test_what_is_missing_or_there_already_is_refused_before_anything_is_written(
    what: str, made: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = f"{made / 'out' / 'phones'}: there already; begin with a fresh copy"
    if what == "set":
        (made / "out" / "phones").mkdir(parents=True)
    elif what == "line":
        (made / "out").mkdir()
        (made / "out" / "manifest.tsv").write_text("path\nphones/00000.ogg\n", encoding="utf-8")
    elif what == "pairs":
        (made / "kept").mkdir()
        (made / "kept" / "manifest.tsv").touch()
        told = f"{made / 'kept'}: has pairs already; name a new folder"
    elif what == "alignment":
        (made / "corpus" / "alignment.jsonl").unlink()
        told = f"{made / 'corpus'}: no clip of {made / 'phones'} is aligned; run `people`, then `realign`"
    else:
        (made / "phones" / "manifest.tsv").write_text("path\tspeaker\n", encoding="utf-8")
        told = f"{made / 'phones' / 'manifest.tsv'} line 1: lacks the column licence"
    before = sorted(made.rglob("*"))
    assert cut(made) == Exit.USAGE
    assert told in capsys.readouterr().err
    assert sorted(made.rglob("*")) == before
