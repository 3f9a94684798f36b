"""A worker process, of the voice or of the loudspeaker: started when needed, ended when it does not answer."""

import contextlib
import json
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import IO

WORKER = (sys.executable, "-P", str(Path(__file__).with_name("voice_worker.py")))
"""By path and with -P: works from any folder, and no file of ours hides one of the standard library."""

START_S = 20.0
"""A busy machine with a slow disk may take so long to start Python and load the voice."""
STEP_S = 0.01
"""So often it is asked whether the answer is still wanted."""


class WorkerLost(Exception):
    """The worker hung, died or refused; it is ended, the next ask starts another."""


class WorkerLate(WorkerLost):
    """It gave no answer in time."""


class VoiceProcess:
    """One child process, one request under way at a time."""

    def __init__(self, command: Sequence[str] | None, timeout_s: float, start_s: float = START_S) -> None:
        """Nothing is started yet; `command` None = our worker. The longest waits: for an answer, for the start."""
        self._command = tuple(command or WORKER)
        self._timeout_s, self._start_s = timeout_s, start_s
        self._child: subprocess.Popen[str] | None = None
        self._answers: SimpleQueue[str | None] = SimpleQueue()

    def begin(self) -> None:
        """Start the worker unless it runs. Raises WorkerLost, with the worker ended."""
        self._orderly(lambda: None)

    def ask(
        self, order: Mapping[str, object], longest_s: float | None = None, wanted: Callable[[], bool] | None = None
    ) -> None:
        """Send `order` and wait for its answer, `longest_s` at most. Raises WorkerLost, with the worker ended.

        Once it is no longer `wanted` the worker is told to stop, and has its usual time to answer.
        """

        def sent() -> None:
            self._send(order)
            if wanted is not None and not self._answered(longest_s or self._timeout_s, wanted):
                self._send({"stop": True})
            self._await(self._timeout_s if wanted is not None else longest_s or self._timeout_s)

        self._orderly(sent)

    def _orderly(self, do: Callable[[], None]) -> None:
        try:
            if self._child is None:
                self._start()
            do()
        except OSError as error:
            self.close()
            raise WorkerLost(f"the worker cannot be reached ({error.strerror or error})") from None
        except WorkerLost:
            self.close()
            raise

    def close(self) -> None:
        """End the child whatever it does; harmless when there is none."""
        child, self._child = self._child, None
        if child is None:
            return
        child.kill()
        child.wait()
        if child.stdin is not None:
            with contextlib.suppress(OSError):
                child.stdin.close()

    def _send(self, order: Mapping[str, object]) -> None:
        assert self._child is not None and self._child.stdin is not None
        self._child.stdin.write(json.dumps(order) + "\n")
        self._child.stdin.flush()

    def _answered(self, longest_s: float, wanted: Callable[[], bool]) -> bool:
        """Wait for an answer; False = it is no longer wanted. Raises WorkerLost."""
        until = time.monotonic() + longest_s
        while self._answers.empty():
            if not wanted():
                return False
            if time.monotonic() > until:
                raise _late(longest_s)
            time.sleep(STEP_S)
        return True

    def _start(self) -> None:
        self._child = subprocess.Popen(
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            encoding="utf-8",
        )
        assert self._child.stdout is not None
        # A queue of its own for each child: a late answer of a lost one is never taken for the next one's.
        self._answers = SimpleQueue()
        threading.Thread(target=_pass_on, args=(self._child.stdout, self._answers), daemon=True).start()
        self._await(self._start_s)

    def _await(self, longest_s: float) -> None:
        try:
            answer = self._answers.get(timeout=longest_s)
        except Empty:
            raise _late(longest_s) from None
        if answer is None:
            raise WorkerLost("the worker ended unasked")
        with contextlib.suppress(ValueError, AttributeError):
            error = json.loads(answer).get("error")
            if error is None:
                return
            raise WorkerLost(str(error))
        raise WorkerLost(f"the worker answered {answer.strip()[:60]!r}")


def _late(longest_s: float) -> WorkerLate:
    return WorkerLate(f"the worker gave no answer within {longest_s:g} s")


def _pass_on(pipe: IO[str], answers: "SimpleQueue[str | None]") -> None:
    """Pipe -> queue, None at its end; a thread, for no other way to wait with a time-out works on every system."""
    with pipe, contextlib.suppress(OSError, ValueError):
        for answer in pipe:
            answers.put(answer)
    answers.put(None)
