"""The speaking voice: its WAVs are speech, its worker may do anything and the program goes on."""

import errno
import os
import shutil
import sys
import wave
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.core.tone import Tone
from assistant.exits import Exit, Refusal
from assistant.speech.voice import INSTALLER, RATE_LEAST, RATE_MOST, EspeakVoice, SilentVoice, toned
from assistant.speech.voice_process import WORKER

SENTENCE = "Pull three, at two feet four and a half inches. You want at least an inch and three quarters."


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("voice")


@pytest.fixture(scope="module")
def voice(folder: Path) -> Iterator[EspeakVoice]:
    voice = EspeakVoice(folder)
    yield voice
    voice.close()


def samples(file: Path) -> tuple[NDArray[np.float64], int]:
    """Full scale = 1, and samples a second."""
    with wave.open(str(file), "rb") as sound:
        raw = np.frombuffer(sound.readframes(sound.getnframes()), dtype="<i2")
        return raw / 32768.0, sound.getframerate()


def seconds(file: Path) -> float:
    sound, rate = samples(file)
    return len(sound) / rate


def pitch_hz(file: Path) -> float:
    """Median over 40 ms frames of the strongest autocorrelation lag between 60 and 400 Hz, voiced frames only."""
    sound, rate = samples(file)
    size, found = int(0.04 * rate), []
    for start in range(0, len(sound) - size, size):
        frame = sound[start : start + size]
        if np.sqrt(np.mean(frame**2)) < 0.05:
            continue
        match = np.correlate(frame, frame, "full")[size - 1 :]
        least, most = rate // 400, rate // 60
        lag = least + int(np.argmax(match[least:most]))
        if match[lag] > 0.5 * match[0]:
            found.append(rate / lag)
    return float(np.median(found))


def test_it_is_speech_by_length_level_and_rhythm(voice: EspeakVoice) -> None:
    file = voice.speak(SENTENCE)
    sound, rate = samples(file)
    words = len(SENTENCE.split())
    assert 60 * words / 155 * 0.6 < seconds(file) < 60 * words / 155 * 1.6
    assert 0.02 < np.sqrt(np.mean(sound**2)) < 0.5
    assert 0.1 < np.abs(sound).max() <= 1.0
    assert np.mean(np.abs(sound) >= 32767 / 32768) < 0.001, "clipped"
    loud = np.array([np.sqrt(np.mean(part**2)) for part in np.array_split(sound, int(seconds(file) * 50))]) > 0.02
    bursts = sum(not before and after for before, after in pairwise(loud))
    assert bursts >= 4, "speech rises and falls; a tone or noise does not"
    power = np.abs(np.fft.rfft(sound)) ** 2
    hertz = np.fft.rfftfreq(len(sound), 1 / rate)
    assert power[(hertz > 80) & (hertz < 4000)].sum() > 0.8 * power.sum()


def test_text_without_words_is_silence(voice: EspeakVoice) -> None:
    assert not samples(voice.speak("  "))[0].any()


def test_the_helper_hears_another_voice_of_higher_pitch(voice: EspeakVoice) -> None:
    installer, helper = pitch_hz(voice.speak(SENTENCE)), pitch_hz(voice.speak(SENTENCE, helper=True))
    assert 70 < installer < 160
    assert helper > 1.3 * installer


def test_the_rate_is_obeyed_from_the_first_utterance_on(folder: Path) -> None:
    lengths = []
    for rate in (120, 155, 220):
        voice = EspeakVoice(folder / str(rate), rate=rate)
        first = seconds(voice.speak(SENTENCE))
        voice.speak(SENTENCE, helper=True)
        voice.speak(SENTENCE).unlink()
        assert abs(seconds(voice.speak(SENTENCE)) - first) < 0.1, "the second time sounds like the first"
        voice.close()
        lengths.append(first)
    slow, default, fast = lengths
    assert slow > 1.2 * default > 1.2 * 1.2 * fast


def test_rates_outside_the_range_are_refused(tmp_path: Path) -> None:
    for rate in (119, 221):
        with pytest.raises(ValueError, match="must be 120 to 220"):
            EspeakVoice(tmp_path, rate=rate)


def test_utterances_in_a_row_are_whole_and_do_not_overwrite_each_other(voice: EspeakVoice) -> None:
    short = [voice.speak(word) for word in ("One.", "Two.", "Three.")]
    child = voice._process._child
    long = voice.speak(SENTENCE + " Thank you.")
    assert child is not None
    assert voice._process._child is child, "one worker served them all"
    assert len({file.read_bytes() for file in (*short, long)}) == 4
    assert all(0.3 < seconds(file) < 2 for file in short)
    assert seconds(long) > 4


def test_what_was_said_once_needs_no_worker(folder: Path, voice: EspeakVoice) -> None:
    file = voice.speak(SENTENCE)
    deaf = EspeakVoice(folder, command=(sys.executable, "-c", "raise SystemExit(1)"))
    assert deaf.speak(SENTENCE) == file
    with pytest.raises(Refusal):
        deaf.speak("Never said before.")


@pytest.mark.parametrize("left", [0, 20, 44, 5000])
@pytest.mark.parametrize("adapter", [EspeakVoice, SilentVoice])
def test_a_kept_sound_that_is_not_whole_is_made_again(
    adapter: type[EspeakVoice] | type[SilentVoice], left: int, tmp_path: Path
) -> None:
    """As a dead battery, or a program before this one, may have left it."""
    voice = adapter(tmp_path)
    file = voice.speak("How long is the room?")
    whole, length_s = file.read_bytes(), seconds(file)
    for damaged in (whole[: min(left, len(whole) - 1)], bytes(len(whole))):
        file.write_bytes(damaged)
        assert voice.speak("How long is the room?") == file
        assert abs(seconds(file) - length_s) < 0.05
    voice.close()


def test_a_sound_is_on_the_disk_before_it_has_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[tuple[str, int]] = []
    sync, replace_ = os.fsync, Path.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (done.append(("synced", os.fstat(handle).st_ino)), sync(handle)))
    monkeypatch.setattr(
        Path, "replace", lambda file, to: (done.append(("named", file.stat().st_ino)), replace_(file, to))
    )
    number = SilentVoice(tmp_path).speak("").stat().st_ino
    assert done == [("synced", number), ("named", number)]


def test_a_folder_that_cannot_be_read_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a card that was pulled out: every name in it fails."""

    def fails(*_: object, **__: object) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(Path, "stat", fails)
    monkeypatch.setattr(wave, "open", fails)
    monkeypatch.setattr(Path, "mkdir", fails)
    for voice in (EspeakVoice(tmp_path), SilentVoice(tmp_path)):
        with pytest.raises(Refusal, match="cannot be written") as refused:
            voice.speak("Hooked.")
        assert refused.value.code is Exit.NOT_WRITABLE


def test_the_cache_tells_text_and_settings_apart(voice: EspeakVoice, folder: Path) -> None:
    other = EspeakVoice(folder, rate=200)
    files = {voice.speak("Hooked."), voice.speak("Hooked!"), voice.speak("Hooked.", helper=True)}
    files.add(other.speak("Hooked."))
    other.close()
    assert len(files) == 4


BAD_WORKERS = {
    "missing": (("no-such-program-here",), "cannot be reached"),
    "hangs at the start": ((sys.executable, "-c", "import time; time.sleep(60)"), "no answer within 0.8 s"),
    "hangs at work": ((sys.executable, "-c", "print('{}', flush=True); import time; time.sleep(60)"), "no answer"),
    "ends at the start": ((sys.executable, "-c", "pass"), "ended unasked"),
    "crashes at work": ((sys.executable, "-c", "print('{}', flush=True); input(); import os; os.abort()"), "unasked"),
    "babbles": ((sys.executable, "-c", "print('hello', flush=True); input()"), "answered 'hello'"),
    "refuses": ((sys.executable, "-c", 'print(\'{"error": "no library"}\', flush=True); input()'), "no library"),
    "writes nothing": ((sys.executable, "-c", "print('{}\\n{}', flush=True); input(); input()"), "wrote no sound"),
}


@pytest.mark.parametrize("name", BAD_WORKERS)
def test_a_bad_worker_ends_in_one_clear_line(name: str, tmp_path: Path) -> None:
    command, trouble = BAD_WORKERS[name]
    at_work_s, at_start_s = (0.8 if name == f"hangs at {when}" else 60 for when in ("work", "the start"))
    voice = EspeakVoice(tmp_path, command=command, timeout_s=at_work_s, start_s=at_start_s)
    with pytest.raises(Refusal) as refused:
        voice.speak("Hooked.")
    assert refused.value.code is Exit.NO_VOICE
    assert refused.value.line.startswith("voice: ")
    assert trouble in refused.value.line
    assert "--quiet" in refused.value.line
    assert "\n" not in refused.value.line
    assert not list(tmp_path.iterdir()), "no half-written sound"
    assert voice._process._child is None, "no process left behind"


def test_a_worker_may_take_longer_to_start_than_for_an_utterance(tmp_path: Path) -> None:
    slow = f"import os, sys, time; time.sleep(3); os.execv(sys.executable, {list(WORKER)})"
    voice = EspeakVoice(tmp_path, command=(sys.executable, "-c", slow), timeout_s=2.5)
    assert seconds(voice.speak("Hooked.")) > 0.3
    voice.close()


def test_an_utterance_that_hangs_is_given_up_soon() -> None:
    assert EspeakVoice(Path())._process._timeout_s == 5.0


ONCE = """
import os, pathlib, subprocess, sys
mark = pathlib.Path(sys.argv[1])
if not mark.exists():
    mark.touch()
    print("{}", flush=True)
    input()
    CRASH
os.execv(sys.executable, sys.argv[2:])
"""


@pytest.mark.parametrize("trouble", ["os.abort()", "import time; time.sleep(60)"])
def test_one_lost_worker_is_replaced_unnoticed(trouble: str, tmp_path: Path) -> None:
    mark = tmp_path / "mark"
    command = (sys.executable, "-c", ONCE.replace("CRASH", trouble), str(mark), *WORKER)
    voice = EspeakVoice(tmp_path / "voice", command=command, timeout_s=60 if "abort" in trouble else 6)
    assert seconds(voice.speak("Hooked.")) > 0.3
    voice.close()
    assert mark.exists()


def test_a_worker_killed_between_two_sentences_is_replaced(tmp_path: Path) -> None:
    voice = EspeakVoice(tmp_path)
    voice.speak("Hooked.")
    child = voice._process._child
    assert child is not None
    child.kill()
    child.wait()
    assert seconds(voice.speak("Turn.")) > 0.3
    voice.close()


def test_the_worker_needs_neither_the_program_nor_its_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As in an installed wheel started from elsewhere; and no file beside the worker hides a standard module."""
    (tmp_path / "json.py").write_text("raise RuntimeError('taken from the folder of the worker')")
    copy = shutil.copy(WORKER[-1], tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PYTHONPATH", raising=False)
    voice = EspeakVoice(tmp_path / "voice", command=(*WORKER[:-1], copy))
    assert seconds(voice.speak("Hooked.")) > 0.3
    voice.close()


def test_louder_is_louder_and_faster_is_shorter(voice: EspeakVoice) -> None:
    plain, loud = voice.speak(SENTENCE), voice.speak(SENTENCE, tone=Tone(loudness=2))
    assert np.abs(samples(loud)[0]).mean() > 1.2 * np.abs(samples(plain)[0]).mean()
    assert seconds(voice.speak(SENTENCE, tone=Tone(pace=3))) < 0.9 * seconds(plain)


def test_the_rate_stays_within_its_range() -> None:
    assert toned(replace(INSTALLER, rate=200), Tone(pace=4)).rate == RATE_MOST
    assert toned(replace(INSTALLER, rate=130), Tone(pace=-4)).rate == RATE_LEAST
