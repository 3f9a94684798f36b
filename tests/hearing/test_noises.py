"""Seeded noises and rooms."""

import numpy as np
import pytest

from assistant.hearing.options import NAMES, RADIO, ROOM
from assistant.ports import RATE
from assistant.practice.noises import NOISES, in_room, mix, pink, radio, room


@pytest.mark.parametrize("name", NOISES)
def test_a_noise_is_its_seed(name: str) -> None:
    one = NOISES[name](RATE, 3)
    assert one.shape == (RATE,)
    assert np.sqrt(np.mean(one**2)) == pytest.approx(1.0, abs=1e-6)
    assert np.array_equal(one, NOISES[name](RATE, 3))
    assert not np.allclose(one, NOISES[name](RATE, 4))


def test_every_noise_can_be_asked_for() -> None:
    assert [*NOISES, RADIO, ROOM] == [*NAMES]


def test_blows_are_blows_and_a_hiss_is_none() -> None:
    peaks = {name: np.abs(NOISES[name](4 * RATE, 5)).max() for name in NOISES}
    assert min(peaks["hammer"], peaks["staples"]) > 10
    assert max(peaks["pink"], peaks["vacuum"], peaks["saw"]) < 8


def test_pink_falls_with_frequency() -> None:
    power = np.abs(np.fft.rfft(pink(8 * RATE, 1))) ** 2
    low, high = power[8 * 100 : 8 * 200].mean(), power[8 * 1000 : 8 * 2000].mean()
    assert 10 * np.log10(low / high) == pytest.approx(10.0, abs=0.5)


def test_the_radio_plays_what_it_is_given_through_a_small_loudspeaker() -> None:
    time = np.arange(2 * RATE) / RATE
    low, middle = np.sin(2 * np.pi * 60 * time), np.sin(2 * np.pi * 1000 * time)
    played = radio(3 * RATE, 1, [low + middle])
    spectrum = np.abs(np.fft.rfft(played))
    assert len(played) == 3 * RATE
    assert spectrum[3 * 1000] > 100 * spectrum[3 * 60]
    assert np.array_equal(played, radio(3 * RATE, 1, [low + middle]))
    with pytest.raises(ValueError, match="no talk"):
        radio(RATE, 1, [])


def test_a_room_begins_with_the_direct_sound_and_dies_away() -> None:
    for seed in range(20):
        response = room(seed)
        assert 0.24 * RATE < len(response) < 0.71 * RATE
        assert response[0] == 1.0
        assert np.abs(response[1:]).max() < 1.0
        late = len(response) * 9 // 10
        assert np.abs(response[late:]).max() < 0.01


def test_speech_in_a_room_is_as_long_and_not_earlier() -> None:
    click = np.zeros(RATE)
    click[100] = 1.0
    wet = in_room(click, 3)
    assert len(wet) == RATE
    assert np.abs(wet[:100]).max() < 1e-9
    assert wet[100 : 100 + len(room(3))] == pytest.approx(room(3), abs=1e-9)


def test_a_mixture_has_its_ratio() -> None:
    speech = pink(RATE, 8) * 0.05
    mixed = mix(speech, "vacuum", 10.0, 3)
    assert np.std(speech) / np.std(mixed - speech) == pytest.approx(10**0.5, rel=0.01)
