"""The microphone's child seen from the program: its sound, its end, its coming back; and the child itself."""

import io
import json
import sys
import threading
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from assistant.exits import Exit, Refusal
from assistant.speech import microphone_child
from assistant.speech.microphone import BLOCK, MUTED_BLOCKS
from assistant.speech.steady_microphone import ZERO_BLOCKS, SteadyMicrophone

CHILD = """
import json, pathlib, sys, time
state = pathlib.Path({state!r})
life = state.read_text().split("|")
state.write_text("|".join(life[1:]))
now = life[0]
with open({asked!r}, "a") as asked:
    asked.write(sys.argv[1] + "\\n")
out = sys.stdout.buffer
if now.startswith("!"):
    out.write(json.dumps(dict(error=now[1:], known=["desk mic"])).encode() + b"\\n")
    sys.exit()
if now == "dumb":
    sys.exit()
out.write(b'{{"name": "usb mic"}}\\n')
for sign in now:
    out.write(b"\\1" if sign == "o" else b"\\0")
    out.write((b"\\0\\0" if sign == "z" else sign.encode() * 2) * {block})
out.flush()
if now.endswith("h"):
    time.sleep(30)
"""


class Bench:
    """A microphone whose successive children live as `lives` says: each sign a block, z = zeros, final h = it hangs."""

    def __init__(self, folder: Path, *lives: str) -> None:
        state, asked = folder / "state", folder / "asked"
        state.write_text("|".join(lives))
        code = CHILD.format(state=str(state), asked=str(asked), block=BLOCK)
        self.asked, self.told = asked, list[tuple[str, str]]()
        self.command = (sys.executable, "-c", code)

    def open(self, device: str | None = "usb") -> SteadyMicrophone:
        return SteadyMicrophone(device, lambda what, line: self.told.append((what, line)), self.command)

    def kinds(self) -> list[str]:
        return [what for what, _ in self.told]


def heard(microphone: SteadyMicrophone, until: str) -> str:
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


def test_zeros_are_told_once_for_each_silence(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "a" + "z" * (ZERO_BLOCKS - 1) + "b" + "z" * (ZERO_BLOCKS + 3) + "ch")
    with bench.open() as microphone:
        heard(microphone, "c")
    assert bench.told == [
        ("silent", "microphone 'usb mic': nothing but digital silence; muted or unplugged? Tap meanwhile")
    ]


def test_after_a_long_silence_a_fresh_child_looks_whether_it_is_there(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "a" + "z" * MUTED_BLOCKS + "xh", "bh", "ch")
    with bench.open() as microphone:
        assert heard(microphone, "b").strip("z") == "a" + "z" * MUTED_BLOCKS + "b"
    assert bench.kinds() == ["silent"]


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


class PortAudioError(Exception):
    pass


def fake(opening: Exception | None = None) -> Any:
    devices = [
        {"name": n, "max_input_channels": c, "index": i}
        for i, (n, c) in enumerate((("Out", 0), ("Mic two", 1), ("Mic", 2)))
    ]

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


def test_the_child_tells_what_it_cannot_open(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", fake(PortAudioError("device\nbusy")))
    out = io.BytesIO()
    microphone_child.serve("", out)
    assert json.loads(out.getvalue()) == {"error": "device busy", "known": ["Mic two", "Mic"]}


def test_the_childs_figures_are_the_programs() -> None:
    from assistant.ports import RATE

    assert (microphone_child.BLOCK, microphone_child.RATE) == (BLOCK, RATE)
