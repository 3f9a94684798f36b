"""`pullcall` for real, by ear and mouth, in the virtual room of tests/live_room.py."""

import contextlib
import signal
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import soundfile

from assistant.exits import Exit
from assistant.speech.voice import EspeakVoice
from assistant.wording import messages
from assistant.workplace import ALARMS
from tests.gauges.virtual import needs_room
from tests.live_room import RATE, Program, Room, begun, job, likeness, said, wait_for


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with contextlib.closing(Room(tmp_path_factory.mktemp("room"))) as room:
        yield room


def test_a_gap_in_the_sound_is_told_from_words_cut_off(tmp_path: Path) -> None:
    sound = (np.random.default_rng(7).normal(0, 3000, 2 * RATE)).astype(np.int16)
    soundfile.write(tmp_path / "said.wav", sound, RATE)
    silence, cut = np.zeros(RATE // 4, np.int16), RATE * 3 // 10

    def like(*heard: npt.NDArray[np.int16]) -> float:
        return likeness(tmp_path / "said.wav", np.concatenate([silence, *heard, silence]))

    assert like(sound) > 0.99
    assert like(sound[:RATE], silence, sound[RATE:]) > 0.9
    for broken in (sound[cut:], sound[:-cut], sound[:RATE], silence):
        assert like(broken) < 0.5


def shown(program: Program) -> list[str]:
    """What stands on the screen, without the talk beside it."""
    return [line for line in program.lines if not line.startswith("pullcall:")]


@needs_room
def test_a_killed_and_an_interrupted_session_resume_at_the_same_question(room: Room, tmp_path: Path) -> None:
    path = begun(tmp_path / "hall.job")
    first = job(room, path).silent()
    question = shown(first)[-1]
    assert first.take("18.ogg") == "three quarters"
    assert first.end(signal.SIGKILL) == -signal.SIGKILL

    second = job(room, path, "--device", "VMIC").silent()
    assert shown(second)[-1] == question
    assert second.hear("19.ogg") == "one and an eighth"
    assert second.end(signal.SIGINT) == Exit.STOPPED
    told = [each for each in second.lines if each.startswith("pullcall:")]
    assert [each for each in told if "digital silence" not in each] == [  # which is between the sounds of this room
        f"pullcall: job in {path}",
        f"pullcall: the job is kept; resume it with: pullcall --job {path}",
        "pullcall: stopped",
    ]
    assert said(path) == ["three quarters", "one and an eighth"], "own voice taken, or a recording twice"


@needs_room
def test_the_finished_job_leaves_its_report_and_every_answer_is_heard_whole(room: Room, tmp_path: Path) -> None:
    program = job(room, begun(tmp_path / "hall.job", "skip doorway")).silent()
    for gain in (1.0, 0.25, 0.4, 0.6):  # as a person says it again
        if program.hear("53.ogg", gain) == "finish job":
            break
    assert program.end() == Exit.DONE
    (code,) = {line for line in program.lines if line.startswith("Job code: ")}
    assert (tmp_path / "hall.html").exists()

    cache = tmp_path / "hall-files" / "voice"
    with contextlib.closing(EspeakVoice(cache, rate=200)) as voice:
        alarms = {voice.speak(messages()[each][0]) for each in ALARMS}  # kept ready for a disk that fails
        last = {voice.speak(each) for each in ("The job is closed.", code)}
    spoken = {*cache.glob("*.wav")} - alarms
    assert last < spoken
    heard = room.loudspeaker.samples()
    # 1.0 on an idle machine; where a busy one breaks the sound, the tenth of a second with the gap in it counts less.
    likes = {each.name: likeness(each, heard) for each in spoken}
    assert min(likes.values()) > 0.8, likes


@needs_room
def test_a_missing_microphone_is_named_with_those_that_are_there_and_taps_go_on(room: Room, tmp_path: Path) -> None:
    path = begun(tmp_path / "hall.job")
    program = job(room, path, "--device", "nobody")
    program.when("microphone: none is called 'nobody'; plug one in, or name one with --device; known: ")
    assert any("vmic" in line for line in program.lines)
    program.type("1 1/8")
    program.when("heard: one and an eighth")
    assert program.end() == Exit.DONE
    assert said(path) == ["one and an eighth"]


@needs_room
def test_a_voice_that_is_far_too_quiet_is_told(room: Room, tmp_path: Path) -> None:
    program = job(room, begun(tmp_path / "hall.job"), "--quiet")
    program.when("Type k1")
    start = time.monotonic()

    def told() -> bool:
        room.say("19.ogg", gain=0.02)
        return any("Too quiet. Turn the microphone up" in line for at, line in program.timed if at > start)

    wait_for(told, f"a word about the level; got: {program.lines[-8:]}")
    program.end()


def with_ears(room: Room, path: Path, manner: str) -> Program:
    """`pullcall` at a job with a line of the settings' [ears], once it has asked."""
    settings = path.with_name("settings.toml")
    settings.write_text(f"[voice]\nrate = 200\n[ears]\n{manner}\n", encoding="utf-8")
    return job(room, path, "--settings", str(settings)).silent()


@needs_room
def test_nothing_is_heard_before_the_attention_word(room: Room, tmp_path: Path) -> None:
    path = begun(tmp_path / "hall.job")
    program = with_ears(room, path, 'attention = "hello tape measure"')
    program.when("pullcall: Say: hello tape measure.")
    room.say("18.ogg")
    room.say("../attention/hello_tape_measure.ogg")
    time.sleep(1.0)  # a person pauses, too
    assert program.hear("19.ogg") == "one and an eighth"
    assert program.end() == Exit.DONE
    assert said(path) == ["one and an eighth"]


@needs_room
def test_by_tap_one_answer_is_heard_after_the_key(room: Room, tmp_path: Path) -> None:
    path = begun(tmp_path / "hall.job")
    program = with_ears(room, path, 'talk = "tap"')
    program.when("pullcall: Press T to talk.")
    room.say("18.ogg")
    program.type("t")
    time.sleep(1.0)  # the room rings with nothing, but it might
    assert program.hear("19.ogg") == "one and an eighth"
    room.say("18.ogg")
    assert program.end() == Exit.DONE
    assert said(path) == ["one and an eighth"]


@needs_room
def test_practice_is_spoken(room: Room, tmp_path: Path) -> None:
    """`pullcall practice --voice`: a bite's mark is printed, the learner says it, the assistant answers aloud."""
    folder = tmp_path / "practice"
    program = Program(room, "practice", "--voice", "--out", str(folder), "--device", "vmic").silent()
    assert [program.hear(each) for each in ("14.ogg", "19.ogg")] == ["ready", "one and an eighth"]
    assert any("the mark has moved" in each for each in program.lines)
    assert program.end(signal.SIGINT) == Exit.STOPPED
    assert next(folder.glob("*.job")).exists()


@needs_room
def test_practice_keeps_the_manners_of_a_real_session(room: Room, tmp_path: Path) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text('[voice]\nrate = 200\n[ears]\ntalk = "tap"\n', encoding="utf-8")
    options = ("--settings", str(settings), "practice", "--voice", "--out", str(tmp_path / "p"), "--device", "vmic")
    program = Program(room, *options).silent()
    program.when("pullcall: Press T to talk.")
    room.say("14.ogg")
    program.type("t")
    time.sleep(1.0)
    assert program.hear("14.ogg") == "ready"
    assert program.lines.count("you:    ready") == 1, "said twice, pressed once"
    assert program.end(signal.SIGINT) == Exit.STOPPED
