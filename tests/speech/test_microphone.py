"""The microphone's child seen from the program: its sound, its end, its coming back; and the child itself."""

import io
import json
import subprocess
import sys
import threading
from collections.abc import Iterable
from itertools import islice
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from assistant.exits import Exit, Refusal
from assistant.speech import microphone_child
from assistant.speech.microphone import BLOCK, LOOKS_S, RETRY_S, STEADY_BLOCKS, ZERO_BLOCKS
from tests.speech.scripted_microphone import Bench


def heard(microphone: Iterable[bytes], until: str) -> str:
    """Signs of the blocks up to the one of `until`; '-' for a stretch without sound."""
    signs = ""
    for block in microphone:
        sign = chr(block[0]) if block and block[0] else "z" if block else "-"
        signs += "" if sign == "-" and signs.endswith("-") else sign
        if sign == until:
            return signs
    return signs


def test_a_child_that_ends_is_told_and_the_microphone_found_again_by_its_name(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "ab", "!none is called 'usb mic'", "ch")
    with bench.open() as microphone:
        assert heard(microphone, "c") == "ab-c"
    assert bench.kinds() == ["lost", "back"]
    assert bench.told[0][1] == "microphone 'usb mic': no sound comes any more; tap meanwhile, and plug it in again"
    assert bench.asked.read_text().split("\n")[:3] == ["usb", "usb mic", "usb mic"]


def test_a_child_that_hangs_is_lost_too(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "ah", "ch")
    with bench.open() as microphone:
        assert heard(microphone, "c") == "ah-c"
    assert bench.kinds() == ["lost", "back"]


def test_a_stream_may_take_its_time_to_the_first_block(tmp_path: Path) -> None:
    """And as long as it takes an empty block tells that no sound comes."""
    bench = Bench(tmp_path, "pah", "pbh")
    with bench.open() as microphone:
        assert heard(islice(microphone, 12), "b") == "-ah-b"
    assert bench.kinds() == ["lost", "back"], "lost by its end, not by its begin"


def test_one_that_opens_and_stays_dumb_is_lost_once_and_back_with_its_first_block(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("assistant.speech.microphone.START_S", 2.0)
    bench = Bench(tmp_path, "p" * 40, "p" * 40, "ah")
    with bench.open() as microphone:
        for block in microphone:
            if block:
                break
            assert "back" not in bench.kinds()
    assert bench.kinds() == ["lost", "back"]


def test_a_loose_plug_is_looked_for_ever_more_rarely_until_its_sound_lasts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    waits: list[float] = []
    steady = "s" * STEADY_BLOCKS
    bench = Bench(tmp_path, "a", "b", "c", steady[1:], steady, "d", "eh")
    with bench.open() as microphone:
        monkeypatch.setattr(microphone._closed, "wait", waits.append)
        heard(microphone, "e")
    assert waits == [0.0, 0.5, 1.0, 2.0, 0.0, 0.5]
    assert bench.kinds() == ["lost", "back"] * 6, "the screen is told each time"


def test_zeros_are_told_once_for_each_silence(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "a" + "z" * (ZERO_BLOCKS - 1) + "b" + "z" * (ZERO_BLOCKS + 3) + "ch")
    with bench.open() as microphone:
        heard(microphone, "c")
    assert bench.told == [
        ("silent", "microphone 'usb mic': nothing but digital silence; muted or unplugged? Tap meanwhile")
    ]


def blocks(seconds: float) -> int:
    return round(seconds * 16_000 / BLOCK)


def test_after_a_long_silence_a_fresh_child_looks_whether_it_is_there(tmp_path: Path) -> None:
    zeros = "z" * blocks(LOOKS_S[0])
    bench = Bench(tmp_path, "a" + zeros + "xh", "bh", "ch")
    with bench.open() as microphone:
        assert heard(microphone, "b").strip("z") == "a" + zeros + "b"
    assert bench.kinds() == ["silent"]


def test_one_that_goes_on_as_silence_once_unplugged_is_lost_at_the_first_look(tmp_path: Path) -> None:
    """As devices under PulseAudio do."""
    zeros = "z" * blocks(LOOKS_S[0])
    bench = Bench(tmp_path, "a" + zeros + "zh", "!none is called 'usb mic'", "bh")
    with bench.open() as microphone:
        assert heard(microphone, "b") == "a" + zeros + "-b"
    assert bench.kinds() == ["silent", "lost", "back"]
    assert 4.5 <= LOOKS_S[0] <= 5.5, "about five seconds"


def test_while_it_stays_muted_the_looks_get_rarer_and_sound_starts_them_over(tmp_path: Path) -> None:
    """Each child lives to the look after its own: one block less and the next one would not begin."""
    assert LOOKS_S == (5.0, 10.0, 20.0, 40.0, 60.0)
    muted = ["z" * blocks(wait_s) for wait_s in (*LOOKS_S, 60.0, 60.0)]
    lives = ["a" + muted[0] + "xh", *(each + "xh" for each in muted[1:]), "b" + muted[0] + "xh", muted[1] + "xh", "ch"]
    bench = Bench(tmp_path, *lives)
    with bench.open() as microphone:
        assert heard(microphone, "c") == "a" + "".join(muted) + "b" + muted[0] + muted[1] + "c"
    assert bench.kinds() == ["silent", "silent"], "told once for each silence, not at each look"


def test_one_unplugged_while_it_was_muted_is_found_lost_at_a_later_look(tmp_path: Path) -> None:
    first, second = ("z" * blocks(wait_s) for wait_s in LOOKS_S[:2])
    bench = Bench(tmp_path, "a" + first + "h", second + "zh", "!gone", "ch")
    with bench.open() as microphone:
        assert heard(microphone, "c") == "a" + first + second + "-c", "lost by the look, not by its end"
    assert bench.kinds() == ["silent", "lost", "back"]


def test_lost_sound_is_told_once(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "aooch")
    with bench.open() as microphone:
        heard(microphone, "c")
    assert bench.kinds() == ["busy"]


def test_closing_ends_the_wait_for_one_that_is_gone(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "a", *["!gone"] * 50)
    with bench.open() as microphone:
        listening = threading.Thread(target=lambda: heard(microphone, "never"), daemon=True)
        listening.start()
    listening.join(10)
    assert not listening.is_alive()


@pytest.mark.parametrize(
    ("life", "line"),
    [
        (
            "!none is called 'usb'",
            "microphone: none is called 'usb'; plug one in, or name one with --device; known: desk mic",
        ),
        ("dumb", "microphone: its process does not answer; plug it in again"),
    ],
)
def test_none_at_the_start_is_refused(tmp_path: Path, life: str, line: str) -> None:
    with pytest.raises(Refusal) as caught:
        Bench(tmp_path, life).open()
    assert (caught.value.code, caught.value.line) == (Exit.BAD_AUDIO, line)


def test_a_child_for_which_there_is_no_memory_is_tried_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        monkeypatch.setattr("assistant.speech.microphone.subprocess.Popen", popen)  # there is memory the next time
        raise OSError(12, "Cannot allocate memory")

    popen = subprocess.Popen
    bench = Bench(tmp_path, "ah", "bh")
    with bench.open() as microphone:
        for block in microphone:
            if block[:1] == b"a":
                monkeypatch.setattr("assistant.speech.microphone.subprocess.Popen", full)
            if block[:1] == b"b":
                break
    assert bench.kinds() == ["lost", "back"]
    monkeypatch.setattr("assistant.speech.microphone.subprocess.Popen", full)
    with pytest.raises(Refusal) as caught:
        bench.open()
    assert caught.value.line == (
        "microphone: its process cannot be started (Cannot allocate memory); close other programs"
    )


def test_one_that_is_missing_at_the_start_is_told_and_heard_once_it_is_there(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "!none found", "!none found", "!none found", "a", "bh")
    with bench.open(None, awaited=True) as microphone:
        assert heard(microphone, "a") == "-a"
        assert microphone.name == "usb mic"
        assert heard(microphone, "b") == "-b", "once known it is found by its name"
    assert bench.told[:2] == [
        (
            "missing",
            "microphone: none found; plug one in, or name one with --device; known: desk mic; "
            "it is heard as soon as it is there, tap or type meanwhile",
        ),
        ("back", "microphone 'usb mic': is heard"),
    ]
    assert bench.asked.read_text().split("\n")[:5] == ["", "", "", "", "usb mic"]


def test_the_looks_for_one_that_is_missing_get_rarer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    waits: list[float] = []
    bench = Bench(tmp_path, *["!gone"] * 7, "ah")
    with bench.open(awaited=True) as microphone:
        monkeypatch.setattr(microphone._closed, "wait", waits.append)
        heard(microphone, "a")
    assert waits == [0.0, 0.5, 1.0, 2.0, 3.0, 3.0, 3.0]
    assert (RETRY_S[0], RETRY_S[-1]) == (0.0, 3.0)


class PortAudioError(Exception):
    pass


INPUTS = (("Mic two", 1), ("Mic", 2))
"""Names and channels."""


def fake(opening: Exception | None = None, found: tuple[tuple[str, int], ...] = INPUTS) -> Any:
    devices = [{"name": n, "max_input_channels": c, "index": i} for i, (n, c) in enumerate((("Out", 0), *found))]

    def stream(**options: Any) -> SimpleNamespace:
        if opening is not None:
            raise opening

        def start() -> None:
            options["callback"](b"\1\0" * BLOCK, BLOCK, None, SimpleNamespace(input_overflow=True))
            options["finished_callback"]()

        return SimpleNamespace(start=start)

    def query(kind: str | None = None) -> Any:
        return devices if kind is None else devices[1]

    return SimpleNamespace(PortAudioError=PortAudioError, query_devices=query, RawInputStream=stream)


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        ("mic", {"name": "Mic"}),
        ("TWO", {"name": "Mic two"}),
        ("", {"name": "Mic two"}),
        ("out", {"error": "none is called 'out'", "known": ["Mic two", "Mic"]}),
    ],
)
def test_the_child_chooses_by_name(monkeypatch: pytest.MonkeyPatch, wanted: str, told: dict[str, object]) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", fake())
    out = io.BytesIO()
    microphone_child.serve(wanted, out)
    line, _, frames = out.getvalue().partition(b"\n")
    assert json.loads(line) == told
    assert frames == (b"\1" + b"\1\0" * BLOCK if "name" in told else b"")


USB = "USB PnP Sound Device: Audio (hw:1,0)"
MOVED = "USB PnP Sound Device: Audio (hw:2,0)"
OTHER = "Big USB PnP Sound Device: Audio (hw:3,0)"


@pytest.mark.parametrize(
    ("there", "chosen"),
    [((OTHER, MOVED), MOVED), ((MOVED, USB), USB), ((OTHER,), None)],
    ids=["moved", "both", "another whose name holds it"],
)
def test_one_plugged_in_again_is_found_whatever_its_card_number_is(there: tuple[str, ...], chosen: str | None) -> None:
    found = microphone_child.choose(fake(found=tuple((each, 1) for each in there)), USB)
    assert (found and found["name"]) == chosen


def test_the_child_tells_what_it_cannot_open(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", fake(PortAudioError("device\nbusy")))
    out = io.BytesIO()
    microphone_child.serve("", out)
    assert json.loads(out.getvalue()) == {"error": "device busy", "known": ["Mic two", "Mic"]}


@pytest.mark.parametrize("wanted", ["", "mic"])
def test_the_child_tells_that_there_is_none_at_all(monkeypatch: pytest.MonkeyPatch, wanted: str) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", fake(found=()))
    out = io.BytesIO()
    microphone_child.serve(wanted, out)
    why = f"none is called '{wanted}'" if wanted else "none found"
    assert json.loads(out.getvalue()) == {"error": why, "known": []}


def test_the_child_names_a_missing_library(monkeypatch: pytest.MonkeyPatch) -> None:
    class Missing:
        def find_spec(self, name: str, path: object = None, target: object = None) -> None:
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Missing(), *sys.meta_path])
    out = io.BytesIO()
    microphone_child.serve("", out)
    assert "PortAudio is missing; install it (Debian, Ubuntu: libportaudio2)" in json.loads(out.getvalue())["error"]


def test_the_childs_figures_are_the_programs() -> None:
    from assistant.ports import RATE

    assert (microphone_child.BLOCK, microphone_child.RATE) == (BLOCK, RATE)
