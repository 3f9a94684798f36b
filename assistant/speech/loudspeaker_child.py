"""The child process that holds the loudspeaker: where PortAudio hangs or never finds a device again, only it is lost.

Started by path, never imported by the program, and imports nothing of it, nor numpy, which takes 16 MB. Requests and
answers are JSON lines. It says unasked {"done": true} once there is a loudspeaker, or {"error": ...}. {"play": PATH} is
answered once the sound has ended; {"stop": true} ends it sooner. It ends with its stdin.
"""

import contextlib
import json
import os
import queue
import sys
import threading
import wave
from collections.abc import Iterable
from typing import Any

Orders = queue.SimpleQueue[dict[str, Any]]

STEP_S = 0.01
"""So soon a sound that is no longer wanted is ended."""
AHEAD_S = 0.2
"""So much sound is handed on ahead, so that a busy machine does not break a word."""


def serve(orders: Orders, out: Any) -> None:
    """Play what is ordered, until there is no loudspeaker."""
    try:
        import sounddevice as audio
    except OSError:
        cure = "install it (Debian, Ubuntu: libportaudio2)"
        return tell(out, {"error": f"the system library PortAudio is missing; {cure}"})
    try:
        audio.query_devices(kind="output")
    except (audio.PortAudioError, ValueError):
        return tell(out, {"error": "none found"})
    tell(out, {"done": True})
    while True:
        order = orders.get()
        if "play" in order:
            tell(out, play(audio, order["play"], orders))


def play(audio: Any, file: str, orders: Orders) -> dict[str, object]:
    """A WAV of 16-bit samples, to its end or to the next order; the answer."""
    try:
        with wave.open(file, "rb") as sound:
            rate, channels = sound.getframerate(), sound.getnchannels()
            with audio.RawOutputStream(rate, channels=channels, dtype="int16", latency=AHEAD_S) as stream:
                while samples := sound.readframes(round(rate * STEP_S)):
                    stream.write(samples)
                    if not orders.empty():
                        stream.abort()
                        break
    except (audio.PortAudioError, ValueError) as error:
        return {"error": " ".join(str(error).split())}
    return {"done": True}


def tell(out: Any, told: dict[str, object]) -> None:
    """One line of JSON."""
    out.write(json.dumps(told) + "\n")
    out.flush()


def take(lines: Iterable[str], orders: Orders) -> None:
    """Lines -> orders, until they end."""
    for line in lines:
        orders.put(json.loads(line))


def _take_and_end(orders: Orders) -> None:
    sys.stdin.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    take(sys.stdin, orders)
    os._exit(0)


if __name__ == "__main__":
    private = os.fdopen(os.dup(1), "w", encoding="utf-8")  # the libraries below print into the ordinary stdout
    os.dup2(2, 1)
    ordered: Orders = queue.SimpleQueue()
    threading.Thread(target=_take_and_end, args=(ordered,), daemon=True).start()
    with contextlib.suppress(BrokenPipeError):
        serve(ordered, private)
    os._exit(0)  # PortAudio's own end may hang on a device that is gone
