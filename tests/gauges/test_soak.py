"""The soak's verdict on made-up days, and two minutes of a real one."""

import json
import subprocess
import sys
from pathlib import Path
from random import Random

import numpy as np
import pytest

from assistant.exits import Refusal
from assistant.gauges.processes import told as system_tells
from assistant.gauges.soak import MOST_KB_AN_HOUR, Moment, Soak, soak
from assistant.gauges.soundtrack import SPEECH_DB, Backdrop, Recording, Script, as_blocks, spoken
from assistant.hearer import Hearer
from assistant.shelf import recordings_folder
from assistant.speech.grammars import asks, grammar
from assistant.speech.understand import understand

TREE = Path(__file__).parents[2]


def day(kb: float = 0.0, handles: float = 0.0, threads: float = 0.0) -> Soak:
    """Eight hours that begin with 40 MB in the first two; then it grows by so much an hour."""
    hours = np.linspace(0, 8, 49)
    moments = [
        Moment(h, round(200_000 + 20_000 * min(h, 2) + kb * h), round(9 + handles * h), round(5 + threads * h), 0)
        for h in hours
    ]
    return Soak(moments=moments, spoken=10, consistent=True)


def test_a_day_that_only_begins_with_growth_is_flat() -> None:
    found = day()
    assert found.kb_an_hour == pytest.approx(0, abs=1)
    assert not found.short and str(found).endswith("pass")


@pytest.mark.parametrize(
    ("grows", "told"),
    [
        ({"kb": 2.0 * MOST_KB_AN_HOUR}, "memory grows"),
        ({"handles": 0.5}, "open files grow"),
        ({"threads": 0.5}, "threads grow"),
    ],
)
def test_what_grows_is_found(grows: dict[str, float], told: str) -> None:
    found = day(**grows)
    assert found.kb_an_hour == pytest.approx(grows.get("kb", 0.0), abs=5)
    assert found.short == [told] and str(found).endswith(f"SHORT: {told}")


def test_who_got_no_answer_is_named() -> None:
    found = day()
    found.unanswered.append("17.ogg 'three eighths'")
    assert found.short == ["1 of 10 sentences not answered"]
    assert "10 sentences, 9 answered; no answer: 17.ogg 'three eighths'" in str(found)


def test_a_broken_job_file_is_no_pass() -> None:
    found = day()
    found.consistent = False
    assert found.short == ["the job file does not verify"]


def test_there_is_something_to_say_at_every_ask() -> None:
    script = Script(Random(5))
    for ask in asks():
        for _ in range(5):
            recording = script.answer(ask)
            meaning = understand(recording.text, grammar(ask))
            assert meaning is not None and meaning.act == recording.act, f"{recording} at {ask}"
            assert recording.file.is_file()
    assert script.other().act == ""


def test_speech_and_noise_have_their_levels_and_are_hardly_clipped() -> None:
    backdrop = Backdrop(Random(1))
    backdrop.change(-40.0)
    whole = np.concatenate([backdrop.cut(each) for each in (1, 511, 16_000, 320_000)])
    assert 20 * np.log10(np.sqrt(np.mean(whole**2))) == pytest.approx(-40.0, abs=1.0)
    backdrop.change(-60.0)
    assert 20 * np.log10(np.sqrt(np.mean(backdrop.cut(320_000) ** 2))) == pytest.approx(-60.0, abs=1.0)
    sound = spoken(Recording(recordings_folder() / "demo" / "18.ogg", "three quarters", "reading"))
    assert 20 * np.log10(np.sqrt(np.mean(sound**2))) == pytest.approx(SPEECH_DB, abs=0.1)
    blocks = list(as_blocks(sound, 512))
    assert {len(each) for each in blocks} == {1024}
    back = np.frombuffer(b"".join(blocks), "<i2")[: len(sound)] / 32767
    assert np.mean(np.abs(back - sound) > 1e-3) < 1e-3, "more than a few peaks are clipped"


def run(*options: str) -> Soak:
    order = [sys.executable, "-m", "assistant.gauges.soak", "--json", *options]
    done = subprocess.run(order, cwd=TREE, capture_output=True, text=True, timeout=900)
    assert done.stdout, done.stderr[-2_000:]
    found = json.loads(done.stdout)
    return Soak(**found | {"moments": [Moment(**each) for each in found["moments"]]})


@pytest.mark.skipif(not system_tells(), reason="no /proc: memory and open files cannot be counted here")
def test_every_sentence_of_two_minutes_is_answered_and_nothing_is_left_open() -> None:
    """Memory is left to the long run: in two minutes it is still filling."""
    found = run("--hours", "0.04")
    assert found.spoken >= 5 and not found.unanswered
    assert found.noises_answered == 0 and not found.troubles
    assert (found.grown("handles"), found.grown("threads")) == (0, 0)
    assert found.consistent
    # The rows of a sentence: what was said, and most times what came of it.
    assert found.moments[-1].rows - found.moments[0].rows >= found.spoken - 1


@pytest.mark.skipif(not system_tells(), reason="no /proc: memory and open files cannot be counted here")
def test_two_minutes_of_noise_alone_are_not_answered() -> None:
    found = run("--hours", "0.04", "--noise-only")
    assert (found.spoken, found.others, found.noises_answered, found.troubles) == (0, 0, 0, [])
    assert len({(each.handles, each.threads, each.rows) for each in found.moments}) == 1
    assert found.consistent


@pytest.mark.skipif(not system_tells(), reason="no /proc: memory and open files cannot be counted here")
def test_ears_that_end_are_told_and_nothing_waits_for_them(monkeypatch: pytest.MonkeyPatch) -> None:
    class Falling(Hearer):
        def listen(self) -> None:
            raise RuntimeError("broken")

    monkeypatch.setattr("assistant.gauges.soak.Hearer", Falling)
    with pytest.raises(Refusal, match="the ears ended before the sound did"):
        soak(0.01)
