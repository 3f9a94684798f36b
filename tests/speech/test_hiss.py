"""The hiss under the sound: always the same one, and what is said behind digital silence is heard."""

import numpy as np
import pytest

from assistant.ports import RATE
from assistant.shelf import recordings_folder
from assistant.speech.audio import read_audio
from assistant.speech.ears import VoskEars
from assistant.speech.hiss import HISS, Hiss

BLOCK = 1024
LOUDEST = np.array([-32768, 32767] * 500, "<i2").tobytes()


def test_the_hiss_is_that_of_a_quiet_room_and_always_the_same() -> None:
    silence = bytes(2 * RATE)
    laid = np.frombuffer(Hiss().laid_under(silence), "<i2")
    assert laid.std() == pytest.approx(HISS, rel=0.05)
    assert abs(laid.mean()) < 0.1
    assert Hiss().laid_under(silence) == laid.tobytes()


def test_blocks_get_the_hiss_of_the_whole() -> None:
    hiss, sound = Hiss(), read_audio(recordings_folder() / "demo" / "09.ogg")[:40000]
    parts = b"".join(hiss.laid_under(sound[at : at + BLOCK]) for at in range(0, len(sound), BLOCK))
    assert parts == Hiss().laid_under(sound)


def test_the_loudest_sample_stays_what_it_is() -> None:
    laid = np.frombuffer(Hiss().laid_under(LOUDEST), "<i2").astype(int)
    assert np.abs(laid - np.frombuffer(LOUDEST, "<i2")).max() < 6 * HISS, "a sample turned over"


def test_an_attention_word_behind_digital_silence_is_heard() -> None:
    """What a noise gate leaves is exact zeros: without a hiss the networks took the word for other speech."""
    said = read_audio(recordings_folder() / "attention" / "hello_tape_measure.ogg")
    sound, listener = bytes(4 * RATE) + said + bytes(4 * RATE), VoskEars().listen("attention")
    blocks = (sound[at : at + BLOCK] for at in range(0, len(sound), BLOCK))
    heard = next((each for each in map(listener.feed, blocks) if each), None)
    assert heard is not None
    assert heard.meaning is not None, heard.text
    assert heard.text == "hello tape measure"
