"""The child process that holds the microphone: where PortAudio hangs or never finds a device again, only it is lost.

Started by path, never imported by the program, and imports nothing of it. Argument: part of a device's name, '' = the
system's own choice. stdout: one JSON line, {"name": ...} or {"error": ..., "known": [...]}; then frames of one byte of
status (1 = some sound was lost) and BLOCK samples of 16 kHz, mono, int16 LE. It ends with its stdin.
"""

import contextlib
import json
import os
import queue
import re
import sys
import threading
from typing import Any

BLOCK = 512
RATE = 16_000
CARD = re.compile(r" \(hw:\d+,\d+\)$")
"""How ALSA's names end; a device plugged in again may get another number."""


def choose(audio: Any, wanted: str) -> Any:
    """The device with that name, else the one on another card, else the first whose name holds it; None for none."""
    if not inputs(audio):
        return None
    if not wanted:
        return audio.query_devices(kind="input")
    wanted = wanted.casefold()
    named = [(each["name"].casefold(), each) for each in inputs(audio)]
    exact = [each for name, each in named if name == wanted]
    moved = [each for name, each in named if CARD.sub("", name) == CARD.sub("", wanted)]
    part = [each for name, each in named if wanted in name]
    return next(iter(exact + moved + part), None)


def inputs(audio: Any) -> list[Any]:
    """Every device that can be listened to."""
    return [each for each in audio.query_devices() if each["max_input_channels"] > 0]


def serve(wanted: str, out: Any) -> None:
    """Open the device and pass its sound on until it fails."""
    try:
        import sounddevice as audio
    except OSError:
        cure = "the system library PortAudio is missing; install it (Debian, Ubuntu: libportaudio2)"
        return tell(out, {"error": cure, "known": []})
    try:
        device = choose(audio, wanted)
        if device is None:
            why = f"none is called '{wanted}'" if wanted else "none found"
            return tell(out, {"error": why, "known": names(audio)})
        listen(audio, device, out)
    except (audio.PortAudioError, ValueError) as error:
        tell(out, {"error": " ".join(str(error).split()), "known": names(audio)})
    return None


def names(audio: Any) -> list[str]:
    """What could be chosen instead."""
    return list(dict.fromkeys(each["name"] for each in inputs(audio)))


def listen(audio: Any, device: Any, out: Any) -> None:
    """Frames to `out` for as long as they come."""
    frames: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
    stream = audio.RawInputStream(
        samplerate=RATE,
        channels=1,
        dtype="int16",
        blocksize=BLOCK,
        device=device["index"],
        callback=lambda data, count, when, status: frames.put(bytes([bool(status.input_overflow)]) + bytes(data)),
        finished_callback=lambda: frames.put(None),
    )
    stream.start()
    tell(out, {"name": device["name"]})
    while (frame := frames.get()) is not None:
        out.write(frame)
        out.flush()


def tell(out: Any, told: dict[str, object]) -> None:
    """One line of JSON."""
    out.write(json.dumps(told).encode() + b"\n")
    out.flush()


def _end_with_parent() -> None:
    sys.stdin.buffer.read()
    os._exit(0)


if __name__ == "__main__":
    private = os.fdopen(os.dup(1), "wb")  # the libraries below print into the ordinary stdout
    os.dup2(2, 1)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    with contextlib.suppress(BrokenPipeError):
        serve(sys.argv[1], private)
    os._exit(0)  # PortAudio's own end may hang on a device that is gone
