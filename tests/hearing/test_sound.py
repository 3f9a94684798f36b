"""What reaches the microphone."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.exits import Refusal
from assistant.hearing.manifest import Item
from assistant.hearing.sound import LEAD_S, Condition, conditions, radio_talk, render
from assistant.ports import RATE


@pytest.fixture
def item(tmp_path: Path) -> Item:
    """Half a second of a tone between 0.3 and 0.8 s, in a second and a half."""
    sound = np.zeros(RATE * 3 // 2)
    at = slice(RATE * 3 // 10, RATE * 8 // 10)
    sound[at] = 0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE // 2) / RATE)
    soundfile.write(tmp_path / "tone.wav", sound, RATE)
    return Item(tmp_path / "tone.wav", "pull", "hooked", "hooked", "am_x", 7)


def samples(item: Item, condition: Condition, *talk: Path):  # type: ignore[no-untyped-def]
    return np.frombuffer(render(item, condition, talk).samples, "<i2").astype(float)


def test_clean_first_then_from_quiet_to_loud_noise() -> None:
    found = conditions(["pink", "room"], [5, 20])
    assert [str(each) for each in found] == ["clean", "pink 20 dB", "pink 5 dB", "room"]


def test_the_seed_decides_everything(item: Item) -> None:
    loud = Condition("hammer", 5.0)
    assert render(item, loud) == render(item, loud)
    assert render(item, loud).samples != render(replace(item, seed=8), loud).samples


def test_the_end_of_speech_is_found_before_the_noise(item: Item) -> None:
    for each in (Condition(), Condition("pink", 0.0)):
        assert render(item, each).end_s == pytest.approx(LEAD_S + 0.8, abs=0.033)


@pytest.mark.parametrize("ratio", [20.0, 5.0])
def test_the_ratio_is_that_of_the_active_speech(item: Item, ratio: float) -> None:
    heard = samples(item, Condition("pink", ratio))
    lead = round(LEAD_S * RATE)
    speech = heard[lead + RATE * 35 // 100 : lead + RATE * 75 // 100]
    noise = heard[lead + RATE : lead + RATE * 2]
    power = np.mean(speech**2) - np.mean(noise**2)
    assert 10 * np.log10(power / np.mean(noise**2)) == pytest.approx(ratio, abs=1.5)


def test_levels_differ_within_their_bounds(item: Item) -> None:
    levels = []
    for seed in range(12):
        heard = samples(replace(item, seed=seed), Condition())
        lead = round(LEAD_S * RATE)
        active = heard[lead + RATE * 35 // 100 : lead + RATE * 75 // 100] / 32768
        levels.append(20 * np.log10(np.sqrt(np.mean(active**2))))
    assert -31 < min(levels) < -24
    assert -20 < max(levels) < -13


def test_a_room_rings_on(item: Item) -> None:
    lead = round(LEAD_S * RATE)
    after = slice(lead + RATE * 82 // 100, lead + RATE * 90 // 100)
    assert np.std(samples(item, Condition("room"))[after]) > 10 * np.std(samples(item, Condition())[after])


def test_the_radio_never_plays_the_recording_itself(item: Item, tmp_path: Path) -> None:
    soundfile.write(tmp_path / "talk.wav", np.random.default_rng(1).normal(0, 0.1, RATE), RATE)
    radio = Condition("radio", 0.0)
    with pytest.raises(ValueError, match="no talk"):
        render(item, radio, [item.file])
    alone = render(item, radio, [tmp_path / "talk.wav"])
    assert render(item, radio, [item.file, tmp_path / "talk.wav"]) == alone


def test_the_radio_plays_radio_or_else_other_speech(item: Item) -> None:
    other = replace(item, file=Path("other"), meaning="none", kind="talk")
    radio = replace(item, file=Path("radio"), meaning="none", kind="radio")
    assert radio_talk([item, other, radio]) == [Path("radio")]
    assert radio_talk([item, other]) == [Path("other")]
    assert radio_talk([item]) == []


def test_a_broken_recording_is_refused(item: Item) -> None:
    item.file.write_bytes(b"no sound")
    with pytest.raises(Refusal, match=r"tone\.wav"):
        render(replace(item, seed=99), Condition())
