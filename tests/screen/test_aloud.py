"""`pullcall` with a real microphone and loudspeaker: the virtual room of tests/live_room.py."""

import contextlib
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from assistant.exits import Exit
from tests.gauges.virtual import needs_room
from tests.live_room import Room, begun, job, likeness, said, wait_for

pytestmark = needs_room


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with contextlib.closing(Room(tmp_path_factory.mktemp("room"))) as room:
        yield room


def test_heard_and_tapped_answers_go_through_one_session(room: Room, tmp_path: Path) -> None:
    path = begun(tmp_path / "hall.job")
    program = job(room, path).silent()
    assert program.hear("18.ogg") == "three quarters"
    program.type("1 1/8")
    program.when("heard: one and an eighth")
    program.silent()
    assert program.end() == Exit.DONE
    assert not [line for line in program.lines if "no ears" in line or "loudspeaker: " in line]
    assert said(path) == ["three quarters", "one and an eighth"], "own voice taken, or something lost"


def spoken(folder: Path) -> set[Path]:
    """What the voice has made; not what it still writes."""
    return set((folder / "hall-files" / "voice").glob("[!.]*.wav"))


def test_a_tap_silences_the_voice(room: Room, tmp_path: Path) -> None:
    """What it was saying is not heard to its end; what it says next is heard whole."""
    program = job(room, begun(tmp_path / "hall.job")).silent()
    before, start = spoken(tmp_path), time.monotonic()
    program.type("help")
    wait_for(lambda: bool(spoken(tmp_path) - before), "the list being spoken")  # a tone goes before it
    (interrupted,), since = spoken(tmp_path) - before, time.monotonic()
    wait_for(lambda: bool(room.loudspeaker.loud(since)), "the list being read out")
    program.type("louder")
    program.when("heard: louder")
    wait_for(lambda: bool(spoken(tmp_path) - before - {interrupted}), "the answer being spoken")
    program.silent(since=time.monotonic())
    (whole,) = spoken(tmp_path) - before - {interrupted}
    heard = np.concatenate([samples for at, samples in room.loudspeaker.chunks if at > start])
    # 1.0 and 0.0 on an idle machine; a busy one may drop a block.
    assert likeness(whole, heard) > 0.7
    assert likeness(interrupted, heard) < 0.4
    program.end()
