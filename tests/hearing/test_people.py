"""The set of recorded people, from recordings made up here: what is joined, what it means, what is left out."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.exits import Exit, Refusal
from assistant.hearing.manifest import meaning_of, read_manifest
from assistant.hearing.people import (
    ALONE,
    AROUND_S,
    BETWEEN_S,
    LENGTHS,
    MANY_ANSWERS,
    MANY_OTHERS,
    MANY_PAIRS,
    PAIRS,
    many_people,
    people,
)


@pytest.fixture
def folders(tmp_path: Path) -> tuple[Path, Path]:
    """Every digit as long as it is: 0.1 s and 0.02 s for each; every number of the prompts as digits/N.wav."""
    digits, prompts = tmp_path / "digits", tmp_path / "prompts"
    (prompts / "digits").mkdir(parents=True)
    digits.mkdir()
    for digit in range(10):
        for take in range(2):
            sound(digits / f"{digit}_bert_{take}.wav", 0.1 + 0.02 * digit, 8000)
    for number in (*range(21), 30, 40, 50, 60, 70, 80, 90):
        sound(prompts / "digits" / f"{number}.wav", 0.2, 16000)
    for name, seconds in (("press-any-key", 1.0), ("beep", 0.3), ("endless", 12.5)):
        sound(prompts / f"{name}.wav", seconds, 16000)
    return digits, prompts


def sound(file: Path, seconds: float, rate: int) -> None:
    soundfile.write(file, np.full(round(seconds * rate), 0.25, np.float32), rate)


def test_digits_are_joined_two_by_two_and_stand_alone(folders: tuple[Path, Path], tmp_path: Path) -> None:
    """'eleven six' is trade shorthand for 11 ft 6 in (common practice, no source); one number alone is no size."""
    people(*folders, tmp_path / "out")
    items = read_manifest(tmp_path / "out" / "manifest.tsv")
    mine = [each for each in items if each.voice == "human:digits1"]
    assert [each.inside for each in mine] == [True] * PAIRS + [False] * ALONE
    value = {name: number for number, name in enumerate("one two three four five six seven eight nine".split(), 1)}
    for each in mine[:PAIRS]:
        feet, inches = (value[word] for word in each.text.split())
        assert each.meaning == f"size {12 * feet + inches} in"
        spoken = 0.2 + 0.02 * (feet + inches)
        assert soundfile.info(each.file).duration == pytest.approx(spoken + BETWEEN_S + 2 * AROUND_S, abs=1e-3)
    assert all(each.human for each in items)


def test_lengths_of_the_prompts_speaker_are_sentences_and_prompts_are_none(
    folders: tuple[Path, Path], tmp_path: Path
) -> None:
    count = people(*folders, tmp_path / "out")
    items = read_manifest(tmp_path / "out" / "manifest.tsv")
    assert len(items) == count
    lengths = [each for each in items if each.file.name.startswith("length")]
    assert len(lengths) == LENGTHS
    for each in lengths:
        assert each.meaning == meaning_of(each.text, "size") != "none"
        pieces = len(each.text.split())
        wanted = 0.2 * pieces + BETWEEN_S * (pieces - 1) + 2 * AROUND_S
        assert soundfile.info(each.file).duration == pytest.approx(wanted, abs=1e-3)
    assert [(each.text, each.kind) for each in items if each.file.name.startswith("prompt")] == [
        ("press any key", "talk")
    ]


def test_the_same_recordings_every_time(folders: tuple[Path, Path], tmp_path: Path) -> None:
    tables = [people(*folders, tmp_path / name) and (tmp_path / name / "manifest.tsv").read_text() for name in "ab"]
    assert tables[0] == tables[1]


def test_a_folder_without_the_recordings_is_refused(folders: tuple[Path, Path], tmp_path: Path) -> None:
    digits, prompts = folders
    with pytest.raises(Refusal, match=r"7_name_0\.wav") as refused:
        people(prompts, prompts, tmp_path / "out")
    assert refused.value.code == Exit.USAGE
    for each in (prompts / "digits").iterdir():
        each.unlink()
    with pytest.raises(Refusal, match=r"digits/\d+\.wav: cannot be read"):
        people(digits, prompts, tmp_path / "out")


@pytest.fixture
def words(tmp_path: Path) -> Path:
    folder = tmp_path / "words"
    for word in "one two three four five six seven eight nine yes no tree stop".split():
        (folder / word).mkdir(parents=True)
        for take in range(3):
            sound(folder / word / f"{take}.wav", 0.3, 16000)
    return folder


def test_many_people_say_pairs_answers_and_other_words(words: Path, tmp_path: Path) -> None:
    assert many_people(words, tmp_path / "out") == MANY_PAIRS + MANY_ANSWERS + MANY_OTHERS
    items = read_manifest(tmp_path / "out" / "manifest.tsv")
    pairs, answers, others = (items[a:b] for a, b in ((0, 200), (200, 260), (260, 370)))
    assert all(each.ask == "size" and each.meaning.startswith("size ") for each in pairs)
    assert {each.meaning for each in answers} == {"yes", "no"}
    assert all(each.meaning == meaning_of(each.text, each.ask) for each in items)
    assert sum(not each.inside for each in others) > 100
    assert all(each.human for each in items)
    assert many_people(words, tmp_path / "again") == len(items)
    one, two = ((tmp_path / name / "manifest.tsv").read_text() for name in ("out", "again"))
    assert one == two


def test_every_other_recording_of_many_people_is_brought_to_8_khz(tmp_path: Path) -> None:
    """By hand: a tone of 1 kHz is left as loud as it was, one of 5 kHz is above what 8 kHz can hold (Nyquist)."""
    for word in "one two three four five six seven eight nine yes no tree".split():
        (tmp_path / word).mkdir()
        at = np.arange(16000) / 16000
        tones = 0.25 * np.sin(2 * np.pi * 1000 * at) + 0.25 * np.sin(2 * np.pi * 5000 * at)
        soundfile.write(tmp_path / word / "0.wav", tones, 16000)
    many_people(tmp_path, tmp_path / "out")
    for place in range(6):
        heard, rate = soundfile.read(tmp_path / "out" / f"many_{place:03d}.flac")
        assert rate == (8000 if place % 2 else 16000)
        middle = heard[round(0.3 * rate) : round(0.9 * rate)]
        assert middle.std() == pytest.approx(0.25 * (0.5 if place % 2 else 1.0) ** 0.5, rel=0.02)
        assert len(heard) / rate == pytest.approx(2 + BETWEEN_S + 2 * AROUND_S, abs=0.001)


def test_words_that_are_missing_are_named(words: Path, tmp_path: Path) -> None:
    for each in (words / "seven").iterdir():
        each.unlink()
    with pytest.raises(Refusal, match=r"no recording seven/\*\.wav") as refused:
        many_people(words, tmp_path / "out")
    assert refused.value.code == Exit.USAGE
