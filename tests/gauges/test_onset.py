"""Where sounds begin and end, on made-up sound whose places are known."""

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.gauges.onset import AUDIBLE, onset, place_of, reaction_s, speech_end

RATE = 48_000
Sound = NDArray[np.float64]


def tone(length_s: float, loud: float = 0.3, pitch: float = 440.0) -> Sound:
    found: Sound = loud * np.cos(2 * np.pi * pitch * np.arange(round(length_s * RATE)) / RATE)
    return found


def silence(length_s: float) -> Sound:
    return np.zeros(round(length_s * RATE))


def word(seed: int = 3) -> Sound:
    """Something like speech: half a second of noise that swells and falls, then a tail as quiet as breath."""
    dice = np.random.default_rng(seed)
    swelling = dice.normal(0, 0.1, RATE // 2) * np.hanning(RATE // 2 + 2)[1:-1] ** 0.25
    return np.concatenate([swelling, dice.normal(0, 0.0005, RATE // 4)])


def test_the_onset_of_a_tone_is_its_first_sample() -> None:
    sound = np.concatenate([silence(0.7), tone(0.2)])
    assert onset(sound) == round(0.7 * RATE)
    assert onset(sound, round(0.75 * RATE)) == pytest.approx(round(0.75 * RATE), abs=RATE / 440)
    assert onset(sound[: round(0.7 * RATE)]) is None


def test_hiss_is_not_audible_and_a_quiet_tone_is() -> None:
    hiss = np.random.default_rng(1).uniform(-2, 2, RATE) / 32768
    assert onset(hiss) is None
    assert onset(np.concatenate([hiss, tone(0.1, AUDIBLE * 1.1)])) == RATE


def test_speech_ends_where_it_falls_to_its_tail() -> None:
    assert speech_end(word(), RATE) == pytest.approx(RATE // 2, abs=RATE // 100)
    assert speech_end(tone(0.2), RATE) == len(tone(0.2))


def test_a_recording_is_found_in_what_was_heard_beside_other_sounds() -> None:
    noise = np.random.default_rng(2).normal(0, 0.03, 3 * RATE)
    for at in (0, 12_345, len(noise) - len(word())):
        heard = noise.copy()
        heard[at : at + len(word())] += word()
        assert place_of(word(), heard) == at


@pytest.mark.parametrize("delay_s", [0.5, 0.04, 1.7])
def test_a_known_delay_is_measured(delay_s: float) -> None:
    said = np.concatenate([silence(0.3), word(), silence(3)])
    end = round(0.3 * RATE) + speech_end(word(), RATE)
    answered = np.zeros(len(said))
    answer = tone(0.5)
    begin = end + round(delay_s * RATE)
    answered[begin : begin + len(answer)] = answer
    said[begin + 2_400 : begin + 2_400 + len(answer)] += 0.5 * answer  # the echo of it
    found = reaction_s(word(), said, answered, RATE)
    assert found is not None
    assert found == pytest.approx(delay_s, abs=2 / RATE)


def test_an_answer_before_the_end_is_told_as_such_and_none_as_none() -> None:
    said = np.concatenate([silence(0.3), word(), silence(1)])
    answered = np.zeros(len(said))
    assert reaction_s(word(), said, answered, RATE) is None
    answered[round(0.5 * RATE) :] = 0.2
    found = reaction_s(word(), said, answered, RATE)
    assert found is not None
    assert found == pytest.approx(-0.3, abs=0.02)
