"""The witness that ships, and what becomes of its word."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from assistant.ports import RATE
from assistant.shelf import model_folder, recordings_folder
from assistant.speech.audio import read_audio
from assistant.speech.grammars import lexicon
from assistant.speech.trust import CONTRARY, NAMES, Trust
from assistant.speech.witness import OF, Witness, witness_of
from tests.speech.test_trust import hear, sentence

BELIEVING = Trust(dict.fromkeys(NAMES, 0.0), 9.0, accept=0.5, ask_again=0.3, model="x")
"""Takes everything."""


@pytest.fixture(scope="module")
def witness() -> Witness:
    found = witness_of(model_folder())
    assert found is not None
    return found


def test_a_model_folder_without_one_has_none(tmp_path: Path) -> None:
    assert witness_of(tmp_path) is None


def test_every_word_of_the_grammars_has_phones_of_its_own() -> None:
    names = (model_folder() / "witness" / "phones.txt").read_text(encoding="utf-8").split()
    for word, forms in lexicon().items():
        assert {f"{phone}{OF}{word}_B" for form in forms for phone in form} <= {*names}, word


RIVALS = {
    "01.ogg": (
        "job zero four two seven",
        ["job zero five two seven", "job zero four two eleven", "job four two seven"],
    ),
    "02.ogg": ("tufted synthetic", ["synthetic", "woven"]),
    "03.ogg": ("no figure", ["no openings", "nine", "finish job"]),
}


@pytest.mark.parametrize("file", RIVALS)
def test_what_was_said_is_likelier_than_what_sounds_like_it_and_than_other_speech(witness: Witness, file: str) -> None:
    said, rivals = RIVALS[file]
    (mine, *others), speech = witness.asked(read_audio(recordings_folder() / "demo" / file), [said, *rivals])
    assert mine > max(others)
    assert mine > speech


def test_a_sentence_for_other_talk_is_less_likely_than_other_speech(witness: Witness) -> None:
    sound = read_audio(recordings_folder() / "attention" / "hello_tape_measure.ogg")
    told, speech = witness.asked(sound, ["holds three quarters", "what is left"])
    assert max(told) < speech


@pytest.mark.parametrize("file", RIVALS)
def test_the_digital_silence_of_a_noise_gate_is_like_that_of_a_room(witness: Witness, file: str) -> None:
    sound, said = read_audio(recordings_folder() / "demo" / file), RIVALS[file][0]
    hiss = np.random.default_rng(1).normal(0, 6, RATE // 2).astype("<i2").tobytes()

    def apart(silence: bytes) -> float:
        (told,), speech = witness.asked(silence + sound + silence, [said])
        return told - speech

    assert apart(bytes(RATE)) == pytest.approx(apart(hiss), abs=1.0)


def test_silence_speaks_for_nothing(witness: Witness) -> None:
    told, other = witness.asked(bytes(RATE), ["hooked", "three eighths"])
    assert max(told) < other


class Partial(Witness):
    """Believes what it is told to believe."""

    def __init__(self, **likely: float) -> None:
        self.likely = likely

    def asked(self, sound: bytes, texts: Sequence[str]) -> tuple[list[float], float]:
        assert len(sound) > 0
        return [self.likely[text.replace(" ", "_")] for text in texts], self.likely["speech"]


CLOSE = (sentence("[unk]", 100.0), sentence("three eighths", 99.0), sentence("five eighths", 98.0))


def test_both_together_choose_and_what_each_says_is_told() -> None:
    """99 + 1 against 98 + 6; the second is 1 behind for the first network, 5 ahead for the witness."""
    heard, listener = hear(
        *CLOSE, trust=BELIEVING, witness=Partial(three_eighths=-9.0, five_eighths=-4.0, speech=-10.0)
    )
    assert heard.text == "five eighths"
    assert heard.meaning is not None
    told = dict(zip(NAMES, listener.traits, strict=True))
    assert (told["margin"], told["ahead"], told["backed"], told["apart"]) == (-1.0, -2.0, 5.0, 6.0)


def test_its_word_counts_only_so_far() -> None:
    witness = Partial(three_eighths=-900.0, five_eighths=90.0, speech=-10.0)
    told = dict(zip(NAMES, hear(*CLOSE, trust=BELIEVING, witness=witness)[1].traits, strict=True))
    assert (told["backed"], told["apart"]) == (CONTRARY, CONTRARY)


def test_without_another_sentence_it_is_backed_in_full_and_without_a_witness_not_at_all() -> None:
    one = sentence("three eighths", 99.0)
    witness = Partial(three_eighths=-900.0, speech=-10.0)
    told = dict(zip(NAMES, hear(one, trust=BELIEVING, witness=witness)[1].traits, strict=True))
    assert (told["backed"], told["apart"]) == (CONTRARY, -CONTRARY)
    told = dict(zip(NAMES, hear(one, trust=BELIEVING)[1].traits, strict=True))
    assert (told["backed"], told["apart"]) == (0.0, 0.0)


def test_it_is_not_asked_where_there_is_no_sentence() -> None:
    heard, _ = hear(sentence("[unk]", 100.0), trust=BELIEVING, witness=Partial())
    assert (heard.text, heard.meaning) == ("[unk]", None)
