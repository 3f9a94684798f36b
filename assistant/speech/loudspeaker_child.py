"""The child process that holds the loudspeaker: where PortAudio hangs or never finds a device again, only it is lost.

Started by path, never imported by the program, and imports nothing of it. Requests and answers are JSON lines. It says
unasked {"done": true} once there is a loudspeaker, or {"error": ...}. {"play": PATH} is answered once the sound has
ended; {"stop": true} ends it sooner. It ends with its stdin.
"""

import contextlib
import json
import os
import queue
import sys
import threading
from collections.abc import Iterable
from typing import Any

STEP_S = 0.01
"""So soon a sound that is no longer wanted is ended."""
AHEAD_S = 0.2
"""So much sound is handed on ahead, so that a busy machine does not break a word."""


def serve(orders: "queue.SimpleQueue[dict[str, Any]]", out: Any) -> None:
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
    import soundfile  # while nothing is ordered yet: the first sound is not kept waiting for it

    while True:
        order = orders.get()
        if "play" in order:
            samples, rate = soundfile.read(order["play"], dtype="int16")
            tell(out, play(audio, samples, rate, orders))


def play(audio: Any, samples: Any, rate: int, orders: "queue.SimpleQueue[dict[str, Any]]") -> dict[str, object]:
    """To the end of the sound, or to the next order; the answer."""
    try:
        audio.play(samples, rate, latency=AHEAD_S)
        while audio.get_stream().active:
            with contextlib.suppress(queue.Empty):
                orders.get(timeout=STEP_S)
                break
        audio.stop(ignore_errors=True)
    except (audio.PortAudioError, ValueError) as error:
        return {"error": " ".join(str(error).split())}
    return {"done": True}


def tell(out: Any, told: dict[str, object]) -> None:
    """One line of JSON."""
    out.write(json.dumps(told) + "\n")
    out.flush()


def take(lines: Iterable[str], orders: "queue.SimpleQueue[dict[str, Any]]") -> None:
    """Lines -> orders, until they end."""
    for line in lines:
        orders.put(json.loads(line))


def _take_and_end(orders: "queue.SimpleQueue[dict[str, Any]]") -> None:
    sys.stdin.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    take(sys.stdin, orders)
    os._exit(0)


if __name__ == "__main__":
    private = os.fdopen(os.dup(1), "w", encoding="utf-8")  # the libraries below print into the ordinary stdout
    os.dup2(2, 1)
    ordered: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()
    threading.Thread(target=_take_and_end, args=(ordered,), daemon=True).start()
    with contextlib.suppress(BrokenPipeError):
        serve(ordered, private)
    os._exit(0)  # PortAudio's own end may hang on a device that is gone
