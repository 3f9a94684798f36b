"""Louder, quieter, slower, faster: steps that add up, stop at the end, and outlive a stop."""

import pytest

from assistant.core import events as ev
from assistant.core.fold import fold
from assistant.core.tone import MOST_STEPS, Tone


@pytest.mark.parametrize(
    ("how", "tone"),
    [
        ("faster", Tone(pace=1)),
        ("slower", Tone(pace=-1)),
        ("louder", Tone(loudness=1)),
        ("quieter", Tone(loudness=-1)),
        ("sideways", Tone()),
    ],
)
def test_one_step(how: str, tone: Tone) -> None:
    assert Tone().changed(how) == tone


def test_steps_stop_at_the_end() -> None:
    tone = Tone()
    for _ in range(MOST_STEPS + 3):
        tone = tone.changed("louder").changed("slower")
    assert tone == Tone(pace=-MOST_STEPS, loudness=MOST_STEPS)


def test_the_tone_is_folded_and_not_scratched() -> None:
    job = [ev.JobNamed("1"), ev.VoiceChanged("louder"), ev.Scratched()]
    state = fold(job)
    assert (state.job, state.tone) == ("", Tone(loudness=1))
