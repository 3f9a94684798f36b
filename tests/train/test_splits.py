"""Who is heard where: no voice, person or line of an evaluation in what is trained on or tuned with. No torch.

Which voices and people are the exam is written here once more, by hand, so that moving one fails a test.
"""

import csv
from pathlib import Path
from random import Random

import numpy as np
import pytest

from assistant.hearing.manifest import HUMAN
from assistant.hearing.script import ESPEAK, TALK
from assistant.shelf import recordings_folder
from assistant.train.formant import VARIANTS
from assistant.train.recordings import SETS
from assistant.train.sentences import talk
from assistant.train.speakers import DEVELOPMENT, HELD_OUT, Speaker, speaker

EXAM = {"am_michael", "af_heart", "bf_emma", "bm_george", "am_fenrir", "af_nicole"}
TUNING = {"am_liam", "af_kore", "bf_alice", "bm_lewis"}
OTHERS = [
    "af_bella",
    "af_sky",
    "am_adam",
    "am_eric",
    "bf_lily",
    "bm_daniel",
    "jf_alpha",
    "zm_yunxi",
    "ef_dora",
    "if_sara",
]
"""Some further voices of the synthesiser, English and not."""


def test_the_voices_of_exam_and_tuning_are_the_agreed_ones_and_nobody_is_in_both() -> None:
    assert {*HELD_OUT} == EXAM and {*DEVELOPMENT} == TUNING
    assert not EXAM & TUNING


def test_no_training_speaker_is_blended_from_a_voice_of_the_exam_or_of_tuning() -> None:
    """Five thousand speakers; every other voice does come, so the rule is not kept by drawing few."""
    names = sorted([*EXAM, *TUNING, *OTHERS])
    dice, drawn = Random(1), set[str]()
    for _ in range(5000):
        who = speaker(names, dice)
        assert sum(weight for _, weight in who.blend) == pytest.approx(1.0)
        assert len({voice for voice, _ in who.blend}) == len(who.blend)
        assert not who.melody or sum(weight for _, weight in who.melody) == pytest.approx(1.0)
        drawn |= {voice for voice, _ in (*who.blend, *who.melody)}
    assert drawn == {*OTHERS}


def test_a_speaker_talks_british_by_the_voice_that_leads() -> None:
    dice = Random(2)
    for _ in range(500):
        who = speaker(["af_bella", "af_sky", "am_adam", "bf_lily", "bm_daniel", "jf_alpha"], dice)
        leads = max(who.blend, key=lambda each: each[1])[0]
        assert who.british is (leads[0] == "b") or leads[0] == "j"
        sung = "".join("/" + "+".join(voice for voice, _ in each) for each in [who.melody] if each)
        assert who.name == "+".join(voice for voice, _ in who.blend) + sung


def test_a_speaker_may_have_the_sound_of_one_blend_and_the_pace_of_another() -> None:
    """By hand: the first half of the style is the sound, the second the melody (Kokoro's own order, from memory)."""
    styles = {name: np.full((3, 256), value, np.float32) for name, value in (("a", 1.0), ("b", 3.0), ("c", 8.0))}
    mixed = Speaker((("a", 0.5), ("b", 0.5)), False, (("c", 1.0),)).style(styles, 2)
    assert np.array_equal(mixed, np.repeat(np.float32([2.0, 8.0]), 128))
    assert np.array_equal(Speaker((("b", 1.0),), False).style(styles, 2), np.full(256, 3.0, np.float32))


def voices(file: Path) -> set[str]:
    with file.open(encoding="utf-8") as lines:
        return {row["voice"] for row in csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE)}


def test_the_recordings_that_ship_are_by_voices_of_the_exam_or_by_another_engine() -> None:
    shelf = recordings_folder()
    found = voices(shelf / "demo" / "playlist.tsv") | voices(shelf / "evaluation" / "manifest.tsv")
    assert len(found) > 6
    for voice in found:
        assert voice in EXAM or voice in ESPEAK or voice.partition(":")[0] == HUMAN, voice


def lines(file: Path) -> set[str]:
    """The words of a file of other speech: kind, ask, words."""
    rows = [row.split("\t") for row in file.read_text(encoding="utf-8").splitlines() if row and row[0] != "#"]
    return {row[2].lower() for row in rows}


def test_the_set_for_tuning_is_by_other_voices_with_other_talk_and_other_draws() -> None:
    tuners, seed, others, formant = SETS["development"]
    examined, exam_seed, exam_others, exam_formant = SETS["evaluation"]
    assert {*tuners} == TUNING and {*examined} == EXAM
    assert not {*formant} & {*exam_formant}
    assert seed != exam_seed and exam_others == TALK
    trained = {line.lower() for line in talk()}
    assert len(lines(others)) > 20 and len(lines(exam_others)) > 20 and len(trained) > 100
    assert not lines(exam_others) & lines(others)
    assert not (lines(exam_others) | lines(others)) & trained


def test_no_formant_voice_of_the_exam_trains() -> None:
    exam = {each.rpartition("+")[2] for each in ESPEAK}
    assert not exam & {*VARIANTS}
    assert len(exam) == 4
