"""Begin and end of speech, with a scripted detector and with the real one."""

from collections.abc import Iterator

import numpy as np
import pytest

from assistant.ports import RATE
from assistant.shelf import recordings_folder
from assistant.speech.audio import read_audio
from assistant.speech.endpoint import WINDOW, Endpointer, EndRule

WINDOW_S = WINDOW / RATE


def scripted(likely: list[float]) -> Endpointer:
    """An endpointer whose detector says these likelihoods, one a window, then 0."""
    left: Iterator[float] = iter(likely)
    return Endpointer(detector=lambda samples: next(left, 0.0))


def windows(count: int, level: int = 1000) -> bytes:
    """Windows at a level; each sample of window n is +-(level + n), so that every window can be told."""
    signs = np.resize([1, -1], WINDOW)
    return b"".join(((level + number) * signs).astype("<i2").tobytes() for number in range(count))


def firsts(content: bytes) -> list[int]:
    """The number of each window."""
    return [int(each) - 1000 for each in np.frombuffer(content, "<i2")[::WINDOW]]


def test_the_utterance_has_its_pre_roll_and_ends_after_the_silence() -> None:
    ends = scripted([0.0] * 20 + [0.9] * 10)
    utterance = firsts(ends.feed(windows(60)))
    assert ends.ended
    assert utterance == list(range(20 - 9, 20 + 10 + 9))
    assert ends.start_s == pytest.approx(20 * WINDOW_S)
    assert ends.end_s == pytest.approx(30 * WINDOW_S)


@pytest.mark.parametrize("length", [1, 7, 320, 1023, 1024, 4000, 100_000])
def test_blocks_of_any_length_give_the_same(length: int) -> None:
    ends = scripted([0.0] * 20 + [0.9] * 10)
    sound = windows(60)
    blocks = (ends.feed(sound[at : at + length]) for at in range(0, len(sound), length))
    assert firsts(b"".join(blocks)) == list(range(11, 39))


def test_a_pause_inside_does_not_end_it_and_half_likely_goes_on() -> None:
    ends = scripted([0.9] * 5 + [0.0] * 8 + [0.4] * 5 + [0.0] * 20)
    ends.feed(windows(40))
    assert ends.ended
    assert ends.end_s == pytest.approx(18 * WINDOW_S)


def test_half_likely_does_not_begin_it() -> None:
    ends = scripted([0.45] * 40)
    assert ends.feed(windows(40)) == b""
    assert not ends.speaking


def test_a_knock_is_told_and_the_next_utterance_is_whole() -> None:
    ends = scripted([0.9] * 2 + [0.0] * 9 + [0.9] * 10)
    ends.feed(windows(40))
    assert ends.ended
    assert ends.knock
    ends.wait_again()
    # The last windows of the wait after the knock are the pre-roll of the word.
    assert firsts(ends.feed(b"")) == list(range(2, 30))
    assert not ends.knock
    assert ends.start_s == pytest.approx(11 * WINDOW_S)


def test_lasting_talk_is_ended_hard() -> None:
    ends = scripted([0.9] * 1000)
    utterance = ends.feed(windows(1000, level=2000))
    assert ends.ended
    assert len(utterance) / 2 / RATE == pytest.approx(EndRule().longest_s, abs=WINDOW_S)


@pytest.mark.parametrize(
    ("likely", "text", "slow"),
    [
        ([0.9] * 26, "hooked", True),  # 0.832 s; six letters and three, 0.09 s each, are 0.81
        ([0.9] * 25, "hooked", False),
        ([0.9] * 26, "hoo ke d", True),  # spaces are no letters
        ([0.9] * 26, "hookeds", False),
        ([0.9] * 10 + [0.0] * 8 + [0.9] * 8, "hooked", True),  # a pause between the words counts
        ([0.9] * 20 + [0.0] * 8, "hooked", False),  # one after them does not
    ],
)
def test_slow_is_long_for_the_letters(likely: list[float], text: str, slow: bool) -> None:
    ends = scripted([0.0] * 20 + likely)
    ends.feed(windows(20 + len(likely)))
    assert not ends.ended
    assert ends.slow(text) == slow


@pytest.mark.parametrize("noise_db", [None, -40, -30])
def test_the_real_detector_finds_a_recorded_word(noise_db: int | None) -> None:
    word = read_audio(recordings_folder() / "demo" / "02.ogg")
    lead = np.zeros(RATE, "<i2")
    sound = np.concatenate([lead, np.frombuffer(word, "<i2"), lead]).astype(float)
    if noise_db is not None:
        sound += np.random.default_rng(1).normal(0, 32768 * 10 ** (noise_db / 20), len(sound))
    ends = Endpointer()
    ends.feed(np.clip(sound, -32768, 32767).astype("<i2").tobytes())
    assert ends.ended
    assert not ends.knock
    assert 0.9 < ends.start_s < ends.end_s < 1.1 + len(word) / 2 / RATE


@pytest.mark.parametrize("kind", ["white", "hum", "nothing"])
def test_the_real_detector_hears_no_speech_in_noise(kind: str) -> None:
    count = 5 * RATE
    noise = {
        "white": np.random.default_rng(1).normal(0, 1500, count),
        "hum": 4000 * np.sign(np.sin(2 * np.pi * 50 * np.arange(count) / RATE)),
        "nothing": np.zeros(count),
    }[kind]
    ends = Endpointer()
    ends.feed(noise.astype("<i2").tobytes())
    assert not ends.speaking
