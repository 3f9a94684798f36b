"""The level of an utterance: in order, clipped, far too quiet."""

import numpy as np
import pytest

from assistant.core.length import System
from assistant.core.line import line
from assistant.speech.level import Level, level_hint
from assistant.wording import word


@pytest.mark.parametrize(
    ("peak", "found"),
    [(0.5, None), (0.05, None), (0.02, Level.QUIET), (0.9, None), (3.6, Level.CLIPPED)],
)
def test_the_level_of_an_utterance(peak: float, found: Level | None) -> None:
    wave = np.sin(np.arange(16_000) * 0.1) * peak
    assert level_hint((np.clip(wave, -1, 1) * 32767).astype("<i2").tobytes()) is found


def test_nothing_heard_has_no_level() -> None:
    assert level_hint(b"") is None


@pytest.mark.parametrize("level", Level)
def test_each_is_told_with_its_cure_and_never_spoken(level: Level) -> None:
    told = word(line(level.value), System.IMPERIAL)
    assert told.say == "" and "turn the microphone" in told.show.lower()
