"""Single words of recorded people in a row. Every recording is a square wave as long as no other, so that a row can be
taken apart again: what is not zero is a word, its length says which.
"""

from pathlib import Path
from random import Random

import numpy as np
import pytest
import soundfile

from assistant.exits import Exit, Refusal
from assistant.train.__main__ import main
from assistant.train.corpus import Clip, CorpusWriter, read_audio, read_clips
from assistant.train.joined import add_joined

SINGLES = {
    900 + 100 * number: ("yes" if number else "no", who)
    for number, who in enumerate(["ann", "bob", "cat", "dan", "eve", "fay"])
}
"""Samples -> word and who says it; one in six says 'no'."""
OTHERS = [("people", ("three", "feet")), ("task", ("hold",)), ("near", ("bull",)), ("words", ("two",))]
"""Kind and words of the clips that are not to be taken."""


def square(size: int, height: int) -> np.ndarray:
    """Of mean 0 and deviation `height`."""
    return np.where(np.arange(size) % 2, height, -height).astype(np.int16)


def corpus(folder: Path) -> Path:
    out = CorpusWriter(folder)
    for number, (kind, words) in enumerate(OTHERS):
        out.add(square(2000 + 100 * number, 500), "synthetic", "syn", kind, words)
    for size, (word, who) in SINGLES.items():
        out.add(square(size, size * 5), "set", who, "people", [word])
    return folder


def sounds(folder: Path) -> list[tuple[Clip, np.ndarray]]:
    """The clips that were added, and theirs."""
    audio = read_audio(folder)
    added = read_clips(folder)[len(OTHERS) + len(SINGLES) :]
    return [(each, np.asarray(audio[each.start : each.start + each.size])) for each in added]


def runs(sound: np.ndarray) -> tuple[list[np.ndarray], list[int]]:
    """The words of a row, and the lengths of the pauses between them."""
    turns = np.flatnonzero(np.diff(sound != 0)) + 1
    pieces = np.split(sound, turns)
    return pieces[::2], [len(each) for each in pieces[1::2]]


def test_a_row_is_single_words_of_people_with_pauses_between(tmp_path: Path) -> None:
    """By hand: 40 ms are 640 samples, a third of a second 5,333; two to four words; a row begins and ends with one."""
    add_joined(corpus(tmp_path), Random(1), 200)
    rows, gaps = sounds(tmp_path), list[int]()
    assert len(rows) == 200
    for clip, sound in rows:
        said, pauses = runs(sound)
        assert 2 <= len(said) <= 4
        assert clip.size == len(sound) == sum(map(len, said)) + sum(pauses)
        assert [SINGLES[len(each)][0] for each in said] == [*clip.words]
        assert "+".join(SINGLES[len(each)][1] for each in said) == clip.speaker
        assert (clip.source, clip.kind) == ("set", "people")
        gaps += pauses
    assert {len(clip.words) for clip, _ in rows} == {2, 3, 4}
    assert 640 <= min(gaps) < 800 and 5200 < max(gaps) <= 5333
    told = [word for clip, _ in rows for word in clip.words]
    assert told.count("no") / len(told) == pytest.approx(0.5, abs=0.07), "every word as often, however few say it"


def test_the_words_of_a_row_are_about_equally_loud(tmp_path: Path) -> None:
    """By hand: 4 dB below and above 2,000 are 1,262 and 3,170; recorded they were at 4,500 to 7,000."""
    add_joined(corpus(tmp_path), Random(2), 100)
    loud = [float(each.astype(np.float64).std()) for _, sound in sounds(tmp_path) for each in runs(sound)[0]]
    assert 1260 < min(loud) < 1350 and 2950 < max(loud) < 3171


def test_what_is_too_loud_is_cut_off_and_does_not_turn_over(tmp_path: Path) -> None:
    """By hand: one blow in 1,600 samples is 40 times their deviation: 80,000, with 4 dB less still 50,000."""
    blow = np.zeros(1600, np.int16)
    blow[800] = 20000
    CorpusWriter(tmp_path).add(blow, "set", "ann", "people", ["yes"])
    add_joined(tmp_path, Random(3), 10)
    for each in read_clips(tmp_path)[1:]:
        sound = read_audio(tmp_path)[each.start : each.start + each.size]
        assert sound.max() == 32767 and sound.min() == 0
        assert np.count_nonzero(sound) == len(each.words)


def test_what_was_there_stays_and_the_seed_decides(tmp_path: Path) -> None:
    for name, seed in (("a", 4), ("b", 4), ("c", 5)):
        before = (corpus(tmp_path / name) / "audio.i2").read_bytes()
        add_joined(tmp_path / name, Random(seed), 20)
        assert (tmp_path / name / "audio.i2").read_bytes().startswith(before)
    made = [(tmp_path / name / "audio.i2").read_bytes() for name in "abc"]
    assert made[0] == made[1] != made[2]


def test_where_nobody_says_one_word_alone_there_is_nothing_to_join(tmp_path: Path) -> None:
    out = CorpusWriter(tmp_path)
    for kind, words in OTHERS:
        out.add(square(2000, 500), "synthetic", "syn", kind, words)
    with pytest.raises(Refusal, match="nobody says one word alone; leave --joined out") as refusal:
        add_joined(tmp_path, Random(1), 1)
    assert refusal.value.code == Exit.USAGE
    assert len(read_clips(tmp_path)) == len(OTHERS)


def test_nothing_asked_is_nothing_added_even_where_nothing_is(tmp_path: Path) -> None:
    CorpusWriter(tmp_path / "empty")
    for folder in (corpus(tmp_path / "full"), tmp_path / "empty"):
        before = [each.read_bytes() for each in sorted(folder.iterdir())]
        add_joined(folder, Random(1), 0)
        assert [each.read_bytes() for each in sorted(folder.iterdir())] == before


def test_the_command_for_people_joins_as_many_as_it_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("assistant.train.align.dictionary", lambda: {"hello": [("HH", "AH", "L", "OW")]})
    (tmp_path / "set").mkdir()
    soundfile.write(tmp_path / "set" / "a.wav", square(1600, 900), 16000)
    (tmp_path / "manifest.tsv").write_text("path\tspeaker\ttext\nset/a.wav\tann\thello\n", encoding="utf-8")
    (tmp_path / "machine_text.tsv").write_text("path\ttext\n", encoding="utf-8")
    made = tmp_path / "corpus"
    told = ["people", "--corpus", str(made), "--folder", str(tmp_path), "--joined", "3", "--seed", "6"]
    assert main(told) == Exit.DONE
    assert capsys.readouterr().out == "1 clips\n"
    by_hand = tmp_path / "by_hand"
    CorpusWriter(by_hand).add(square(1600, 900), "set", "ann", "people", ["hello"])
    add_joined(by_hand, Random(6), 3)
    assert read_clips(made) == read_clips(by_hand) and len(read_clips(made)) == 4
    assert (made / "audio.i2").read_bytes() == (by_hand / "audio.i2").read_bytes()
