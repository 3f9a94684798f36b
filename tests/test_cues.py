"""Four tones and four signs, one of each for a cue: nothing is only heard."""

import hashlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.core import events as ev
from assistant.core.meaning import Candidate, Meaning
from assistant.cues import SIGNS, Cue, cue_of, warned
from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.practice.rehearsal import Rehearsal
from assistant.screen.plain import lines_of
from assistant.speech.tones import PEAK, samples, write_tones
from assistant.wording import cues, messages


def test_there_are_at_most_four_and_each_has_a_sound_and_a_sign_of_its_own() -> None:
    """Guidance for tones in a dialogue: at most four; every sound has a visual twin."""
    assert len(Cue) <= 4
    assert set(SIGNS) == set(Cue), "a tone without a sign, or a sign without a tone"
    assert len({samples(each).tobytes() for each in Cue}) == len({each.sign for each in Cue}) == len(Cue)
    assert all(len(each.sign) == 1 and each.value for each in Cue)


@pytest.mark.parametrize("cue", Cue)
def test_a_tone_is_short_soft_and_without_a_click(cue: Cue) -> None:
    tone = samples(cue)
    loud = np.abs(tone.astype(float)) / 32768
    assert 0.08 <= len(tone) / RATE <= 0.2
    assert 0.2 < loud.max() <= PEAK <= 0.25
    assert np.abs(np.diff(tone.astype(float))).max() / 32768 < 0.1
    assert loud[0] == loud[-1] == 0.0


@pytest.mark.parametrize("cue", Cue)
def test_a_tone_lies_where_worn_ears_still_hear(cue: Cue) -> None:
    """Nine tenths of its power between 300 Hz and 1 kHz."""
    power = np.abs(np.fft.rfft(samples(cue).astype(float))) ** 2
    hertz = np.fft.rfftfreq(len(samples(cue)), 1 / RATE)
    assert power[(hertz > 300) & (hertz < 1000)].sum() > 0.9 * power.sum()


def test_tones_are_the_same_every_time(tmp_path: Path) -> None:
    first, second = write_tones(tmp_path / "a"), write_tones(tmp_path / "b")
    assert first.keys() == set(Cue)
    for cue in Cue:
        sums = {hashlib.sha256(each[cue].read_bytes()).hexdigest() for each in (first, second)}
        assert len(sums) == 1
        read, rate = soundfile.read(first[cue], dtype="int16")
        assert (rate, read.tobytes()) == (RATE, samples(cue).tobytes())


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Refusal, match=r"tones in .*file: cannot be written") as refused:
        write_tones(tmp_path / "file")
    assert refused.value.code is Exit.NOT_WRITABLE


OFFERED = ev.Offered((Candidate("hooked", Meaning("hooked")),), "unsure")


@pytest.mark.parametrize(
    ("events", "told", "cue"),
    [
        ((ev.Slipped(),), (None, None), Cue.TAKEN),
        ((), (), Cue.TAKEN),
        ((ev.Missed("help"),), (None,), Cue.TAKEN),
        ((ev.Missed("nomatch"),), (None,), Cue.ASKED),
        ((ev.Refused("side_too_short"),), (None,), Cue.ASKED),
        ((OFFERED,), (), Cue.ASKED),
        ((ev.Proposed(ev.Hooked(), "doubt_hooked_short"),), (), Cue.ASKED),
        ((ev.HoldTaken(None, ""), ev.Proposed(ev.PullReopened(1), "pull_again")), (Cue.WARNING,), Cue.WARNING),
        ((ev.Hooked(),), (Cue.DONE,), Cue.DONE),
        ((ev.Hooked(),), (Cue.DONE, Cue.WARNING), Cue.WARNING),
        ((ev.Refused("over"),), (Cue.WARNING,), Cue.WARNING),
        ((ev.Refused("hooked"),), (Cue.DONE,), Cue.ASKED),
    ],
)
def test_a_turn_has_one_cue_the_most_pressing(events: Sequence[ev.Event], told: Sequence[Cue | None], cue: Cue) -> None:
    assert cue_of(events, told) is cue


def test_the_cues_of_the_messages_are_of_messages_there_are() -> None:
    assert cues().keys() <= messages().keys()
    assert set(cues().values()) == {Cue.WARNING, Cue.DONE}


@pytest.mark.parametrize("key", sorted(key for key, cue in cues().items() if cue is Cue.WARNING))
def test_a_warning_is_never_a_sound_alone(key: str) -> None:
    said, shown, _ = messages()[key]
    assert said and shown, "its words are said and shown, too"


def test_a_warning_on_the_screen_has_its_sign() -> None:
    assert warned("the disk is full") == "! the disk is full"


@pytest.mark.parametrize(
    ("said", "sign"),
    [
        (("one inch",), "✓ taken"),
        (("mumble",), "? not yet taken"),
        (("hooked",), "? not yet taken"),
        (("three inches",), "? not yet taken"),
        (("three inches", "yes"), "! warning"),
        (("two inches", "hooked"), "■ done"),
    ],
)
def test_the_sign_in_plain_lines(said: tuple[str, ...], sign: str) -> None:
    job = Rehearsal()
    job.say("job one", "tufted", "no figure", "the same", "skip the rest", "ten feet by ten feet", "yes")
    job.say("it is square", "no openings", "door left", "door to far", "ready", *said)
    assert list(lines_of(job.panel))[1] == sign
