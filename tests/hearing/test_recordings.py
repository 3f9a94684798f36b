"""The recordings that ship for the evaluation: whole, small, and of voices never trained on."""

import numpy as np
import pytest

from assistant.hearing.manifest import read_manifest
from assistant.hearing.script import ESPEAK, script
from assistant.shelf import recordings_folder
from assistant.speech.audio import read_audio
from assistant.train.recordings import SETS
from assistant.train.speakers import DEVELOPMENT, HELD_OUT

FOLDER = recordings_folder() / "evaluation"


def test_the_manifest_is_the_script_and_nothing_lies_beside_it() -> None:
    items = read_manifest(FOLDER / "manifest.tsv")
    voices, seed, talk, formant = SETS["evaluation"]
    assert items == script(FOLDER, voices, seed, talk, formant)
    assert {*FOLDER.iterdir()} == {each.file for each in items} | {FOLDER / "manifest.tsv"}


def test_only_voices_never_trained_on_or_tuned_with() -> None:
    voices = {each.voice for each in read_manifest(FOLDER / "manifest.tsv")}
    assert voices == {*HELD_OUT, *ESPEAK}
    assert not {*HELD_OUT} & {*DEVELOPMENT}
    named, seed, talk, formant = SETS["development"]
    assert {each.voice for each in script(FOLDER, named, seed, talk, formant)} == {*named} == {*DEVELOPMENT}


def test_all_recordings_are_small() -> None:
    assert sum(each.stat().st_size for each in recordings_folder().rglob("*") if each.is_file()) < 12_000_000


@pytest.mark.parametrize("kind", ["task", "talk", "radio", "near", "cut"])
def test_a_recording_of_each_kind_can_be_heard(kind: str) -> None:
    item = next(each for each in read_manifest(FOLDER / "manifest.tsv") if each.kind == kind)
    sound = np.frombuffer(read_audio(item.file), "<i2")
    assert np.abs(sound).max() > 8000
