"""One contract for every microphone: the child process on a virtual device, and one that lives as a script says."""

import contextlib
import threading
import time
from collections.abc import Callable, Iterator
from itertools import islice
from pathlib import Path

import pytest

from assistant.exits import Exit, Refusal
from assistant.ports import RATE, Blocks
from assistant.speech.microphone import Microphone
from tests.gauges.virtual import LACKS
from tests.live_room import Room
from tests.speech.scripted_microphone import Bench

PATIENCE_S = 5.0
"""No iteration may take longer."""

Open = Callable[..., Blocks]
"""(there, awaited) -> a microphone that is there, or is not."""


def scripted(folder: Path) -> Open:
    def opened(there: bool = True, awaited: bool = False) -> Blocks:
        lives = ["abcdefgh" * 40 + "h"] if there else ["!none is called 'usb'"] * 20
        return Bench(folder, *lives).open(awaited=awaited)

    return opened


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Room]:
    with contextlib.closing(Room(tmp_path_factory.mktemp("room"))) as room:
        yield room


@pytest.fixture(params=["child", "scripted"])
def opened(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Open:
    if request.param == "scripted":
        return scripted(tmp_path)
    if LACKS:
        pytest.skip(f"no virtual microphone here, it needs: {', '.join(LACKS)}")
    for name, value in request.getfixturevalue("room").environment.items():
        monkeypatch.setenv(name, value)
    return lambda there=True, awaited=False: Microphone(
        "vmic" if there else "nobody", lambda what, line: None, awaited=awaited
    )


def test_sound_comes_in_order_as_whole_samples(opened: Open) -> None:
    with opened() as blocks:
        start = time.monotonic()
        found = list(islice(blocks, 30))
        took_s = time.monotonic() - start
    assert all(isinstance(each, bytes) and len(each) % 2 == 0 for each in found)
    assert 0 < sum(map(len, found)) / 2 / RATE < took_s + 1.5, "no more sound than time goes by"


def test_leaving_it_ends_the_iteration_in_another_thread(opened: Open) -> None:
    for awaited in (False, True):
        with opened(there=not awaited, awaited=awaited) as blocks:
            listening = threading.Thread(target=lambda each=blocks: list(each), daemon=True)
            listening.start()
            time.sleep(0.2)
        listening.join(PATIENCE_S)
        assert not listening.is_alive()


def test_one_that_is_not_there_is_refused_in_one_line(opened: Open) -> None:
    with pytest.raises(Refusal) as refused:
        opened(there=False)
    assert refused.value.code is Exit.BAD_AUDIO
    assert "\n" not in refused.value.line and "plug one in" in refused.value.line


def test_one_that_is_waited_for_gives_empty_blocks(opened: Open) -> None:
    with opened(there=False, awaited=True) as blocks:
        start = time.monotonic()
        assert list(islice(blocks, 3)) == [b""] * 3
        assert time.monotonic() - start < 3 * PATIENCE_S
