"""`pullcall` with a real microphone and loudspeaker: the virtual room of tests/test_live.py."""

import contextlib
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from assistant.exits import Exit
from tests.test_live import PULL, Room, begun, likeness, missing, said, wait_for

pytestmark = pytest.mark.skipif(bool(missing()), reason=f"no virtual microphone here, it needs: {', '.join(missing())}")


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with contextlib.closing(Room(tmp_path_factory.mktemp("room"))) as room:
        yield room


class Sitting:
    """A running `pullcall --plain`."""

    def __init__(self, room: Room, job: Path) -> None:
        self.room = room
        self.child = subprocess.Popen(
            [*PULL, "--plain", "--job", str(job), "--device", "vmic"],
            env=room.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
        )
        self.lines: list[str] = []
        self._thread = threading.Thread(target=self._keep, daemon=True)
        self._thread.start()

    def _keep(self) -> None:
        assert self.child.stdout is not None
        for line in self.child.stdout:
            self.lines.append(line.strip())

    def type(self, line: str) -> None:
        assert self.child.stdin is not None
        self.child.stdin.write(f"{line}\n")
        self.child.stdin.flush()

    def silent(self, for_s: float = 1.2) -> None:
        """Wait until it has spoken and is silent again."""
        begun_at = time.monotonic()

        def quiet() -> bool:
            loud = self.room.loudspeaker.loud(begun_at - 0.5)
            return bool(loud) and time.monotonic() - loud[-1] > for_s

        wait_for(quiet, "silence after speech")

    def end(self) -> str:
        assert self.child.stdin is not None and self.child.stderr is not None
        self.child.stdin.close()
        assert self.child.wait(timeout=20) == Exit.DONE
        self._thread.join()
        return self.child.stderr.read()


def test_heard_and_tapped_answers_go_through_one_session(room: Room, tmp_path: Path) -> None:
    job = begun(tmp_path / "hall.job")
    sitting = Sitting(room, job)
    sitting.silent()
    room.say("18.ogg")
    wait_for(lambda: "heard: three quarters" in sitting.lines, "three quarters")
    sitting.silent()
    sitting.type("1 1/8")
    wait_for(lambda: "heard: one and an eighth" in sitting.lines, "one and an eighth")
    sitting.silent()
    told = sitting.end()
    assert "no ears" not in told and "no voice" not in told, told
    assert said(job) == ["three quarters", "one and an eighth"], "own voice taken, or something lost"


def test_a_tap_silences_the_voice(room: Room, tmp_path: Path) -> None:
    """What it was saying is not heard to its end; what it says next is heard whole."""
    sitting = Sitting(room, begun(tmp_path / "hall.job"))
    sitting.silent()
    voice = tmp_path / "hall-files" / "voice"
    before = set(voice.glob("*.wav"))
    start = time.monotonic()
    sitting.type("help")
    wait_for(lambda: bool(room.loudspeaker.loud(start)), "the list being read out")
    (interrupted,) = set(voice.glob("*.wav")) - before
    sitting.type("louder")
    wait_for(lambda: "heard: louder" in sitting.lines, "louder")
    sitting.silent()
    (whole,) = set(voice.glob("*.wav")) - before - {interrupted}
    heard = np.concatenate([samples for at, samples in room.loudspeaker.chunks if at > start])
    # 1.0 and 0.0 on an idle machine; a busy one may drop a block.
    assert likeness(whole, heard) > 0.7
    assert likeness(interrupted, heard) < 0.4
    sitting.end()
