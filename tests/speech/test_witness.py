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
from assistant.speech.witness import OF, Evidence, Witness, witness_of
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
def test_what_was_said_is_likelier_than_what_sounds_like_it(witness: Witness, file: str) -> None:
    said, rivals = RIVALS[file]
    evidence = witness.asked(read_audio(recordings_folder() / "demo" / file))
    mine, *others = evidence.likely([said, *rivals])
    assert mine > max(others)


@pytest.mark.parametrize("text", ["holds three quarters", "what is left"])
def test_of_a_sentence_for_other_talk_some_word_does_not_fit(witness: Witness, text: str) -> None:
    evidence = witness.asked(read_audio(recordings_folder() / "attention" / "hello_tape_measure.ogg"))
    assert evidence.weakest(text)[0] < -1
    assert evidence.weakest("hello tape measure")[0] > -0.5


def test_the_worst_word_is_told_and_the_pause_in_which_somebody_speaks(witness: Witness) -> None:
    """'job zero four two seven' with one word put for another, and with one left out, inside and at the edge."""
    evidence = witness.asked(read_audio(recordings_folder() / "demo" / "01.ogg"))
    weakest, unsaid = evidence.weakest("job zero four two seven")
    assert (weakest, unsaid) == pytest.approx((0.0, 0.0), abs=0.5)
    assert max(weakest, unsaid) < 1e-6, "other speech has the same words"
    assert evidence.weakest("job zero four two eleven")[0] < weakest - 1
    assert evidence.weakest("job zero four seven")[1] < unsaid - 5
    assert evidence.weakest("zero four two seven")[1] < unsaid - 5


def test_a_sound_too_short_for_the_sentence_has_no_worst_word(witness: Witness) -> None:
    weakest, unsaid = witness.asked(bytes(2 * RATE // 10)).weakest("a hundred and fifty feet")
    assert weakest < -1e8
    assert unsaid == 0.0


@pytest.mark.parametrize("file", RIVALS)
def test_the_digital_silence_of_a_noise_gate_is_like_that_of_a_room(witness: Witness, file: str) -> None:
    sound, said = read_audio(recordings_folder() / "demo" / file), RIVALS[file][0]
    hiss = np.random.default_rng(1).normal(0, 6, RATE // 2).astype("<i2").tobytes()

    def parts(silence: bytes) -> tuple[float, float]:
        return witness.asked(silence + sound + silence).weakest(said)

    assert parts(bytes(RATE)) == pytest.approx(parts(hiss), abs=0.2)


@pytest.mark.parametrize("text", ["hooked", "three eighths"])
def test_silence_speaks_for_nothing(witness: Witness, text: str) -> None:
    assert witness.asked(bytes(RATE)).weakest(text)[0] < -1


class Partial(Witness, Evidence):
    """Believes what it is told to believe."""

    def __init__(self, *weak: float, **likely: float) -> None:
        self.told, self.weak = likely, weak or (0.0, 0.0)

    def asked(self, sound: bytes) -> Evidence:
        assert len(sound) > 0
        return self

    def likely(self, texts: Sequence[str]) -> list[float]:
        return [self.told[text.replace(" ", "_")] for text in texts]

    def weakest(self, text: str) -> tuple[float, float]:
        return self.weak[0], self.weak[1]


CLOSE = (sentence("[unk]", 100.0), sentence("three eighths", 99.0), sentence("five eighths", 98.0))


def test_both_together_choose_and_what_each_says_is_told() -> None:
    """99 + 1 against 98 + 6; the second is 1 behind for the first network, 5 ahead for the witness."""
    heard, listener = hear(*CLOSE, trust=BELIEVING, witness=Partial(three_eighths=-9.0, five_eighths=-4.0))
    assert heard.text == "five eighths"
    assert heard.meaning is not None
    told = listener.traits
    assert (told["margin"], told["ahead"], told["backed"]) == (-1.0, -2.0, 5.0)


def test_what_it_says_of_the_worst_word_and_pause_is_told_so_far() -> None:
    witness = Partial(-1.5, -1e9, three_eighths=-9.0, five_eighths=-4.0)
    told = hear(*CLOSE, trust=BELIEVING, witness=witness)[1].traits
    assert (told["weakest"], told["unsaid"]) == (-1.5, -CONTRARY)


def test_its_word_counts_only_so_far() -> None:
    witness = Partial(three_eighths=-900.0, five_eighths=90.0)
    told = hear(*CLOSE, trust=BELIEVING, witness=witness)[1].traits
    assert told["backed"] == CONTRARY


def test_without_another_sentence_it_is_backed_in_full_and_without_a_witness_not_at_all() -> None:
    one = sentence("three eighths", 99.0)
    witness = Partial(three_eighths=-900.0)
    told = hear(one, trust=BELIEVING, witness=witness)[1].traits
    assert told["backed"] == CONTRARY
    told = hear(one, trust=BELIEVING)[1].traits
    assert told["backed"] == 0.0


def test_it_is_not_asked_where_there_is_no_sentence() -> None:
    heard, _ = hear(sentence("[unk]", 100.0), trust=BELIEVING, witness=Partial())
    assert (heard.text, heard.meaning) == ("[unk]", None)
