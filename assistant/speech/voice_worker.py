"""The child process behind the voice: one utterance at a time, requests and answers as JSON lines.

Started by path, never imported by the program, and imports nothing of it: pyttsx3 may hang or crash, and then only
this process is lost. Request: text, file and a voice setting. Answer: {"done": true} or {"error": "..."}; the first
answer is sent unasked once the voice is ready.
"""

import ctypes
import json
import os
import sys
import time
import traceback
from collections.abc import Mapping
from typing import Any, TextIO

PATIENCE_S = 60.0
"""Longest wait for one utterance, for the case that the parent is gone and nobody ends this process."""
TRIES = 400
"""How often a setting is given again, 5 ms apart, before the voice counts as lost."""


class Speaker:
    """pyttsx3 on the espeak-ng library and data of the espeakng-loader wheel: no system package, no sound device."""

    def __init__(self) -> None:
        """Load library and data; raises whatever is missing."""
        import espeakng_loader

        # The data path is read when the library starts, and pyttsx3 looks for the library in system places only:
        # whatever name it asks for, in this process it is given the wheel's.
        os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
        library = ctypes.CDLL(espeakng_loader.get_library_path())
        ctypes.cdll.LoadLibrary = lambda name: library  # type: ignore[method-assign]
        import pyttsx3
        from pyttsx3.drivers import _espeak

        self._synchronize = _espeak.Synchronize
        self._library = library
        self._number = {"rate": _espeak.RATE, "pitch": _espeak.PITCH, "volume": _espeak.VOLUME}
        self._engine = pyttsx3.init("espeak")
        # A new engine holds settings back until its first loop, and then cancels those not taken at once.
        self._engine.proxy.setBusy(False)
        self._finished: list[bool] = []
        self._engine.connect("finished-utterance", lambda name, completed: self._finished.append(completed))

    def save(self, order: Mapping[str, Any]) -> None:
        """Write order['text'] as a WAV to order['file']; returns once the file is closed."""
        self._set(order)
        self._finished.clear()
        self._engine.save_to_file(order["text"], order["file"])
        self._engine.runAndWait()
        deadline = time.monotonic() + PATIENCE_S
        while not self._finished and time.monotonic() < deadline:  # runAndWait may return early
            time.sleep(0.005)
        if self._finished != [True]:
            raise RuntimeError("the utterance was broken off")

    def _set(self, order: Mapping[str, Any]) -> None:
        """Return once the library speaks as ordered: it takes settings in a thread of its own, and may lose some."""
        wanted = {"rate": order["rate"], "pitch": order["pitch"], "volume": 100 * order["volume"]}
        for _ in range(TRIES):
            for name in ("voice", *wanted):
                self._engine.setProperty(name, order[name])
            self._synchronize()  # pyttsx3 cancels what is still under way when its loop begins
            taken = {name: self._library.espeak_GetParameter(number, 1) for name, number in self._number.items()}
            if all(abs(taken[name] - value) < 1 for name, value in wanted.items()):
                return
            time.sleep(0.005)
        raise RuntimeError(f"the voice speaks with {taken}, not {wanted}")


def serve(requests: TextIO, answers: TextIO) -> None:
    """Answer requests until the parent closes the pipe."""
    try:
        speaker = Speaker()
    except Exception as error:
        _answer(answers, {"error": f"{type(error).__name__}: {error}"})
        return
    _answer(answers, {"done": True})
    for request in requests:
        try:
            speaker.save(json.loads(request))
        except Exception as error:
            traceback.print_exc()
            _answer(answers, {"error": f"{type(error).__name__}: {error}"})
        else:
            _answer(answers, {"done": True})


def _answer(answers: TextIO, answer: Mapping[str, Any]) -> None:
    print(json.dumps(answer), file=answers, flush=True)


def _own_stdout() -> TextIO:
    """A private copy of stdout: pyttsx3 and the library below it print into the ordinary one."""
    private = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    return private


if __name__ == "__main__":
    sys.stdin.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    serve(sys.stdin, _own_stdout())
