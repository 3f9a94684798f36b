"""A program run as its users run it, with the moment at which each of its lines came."""

import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import IO

from assistant.exits import Exit, Refusal
from assistant.gauges.processes import family, share_kb, worked_s

TREE = Path(__file__).parents[2]
PULLCALL = (
    sys.executable,
    "-c",
    f"import sys; sys.path.insert(0, {str(TREE)!r}); from assistant.cli import main; sys.exit(main())",
)
"""This very program, whether it is installed or not."""
PLAIN = (*PULLCALL, "--plain")
_END_S = 30.0
HEARD = ("heard: ", "not understood: ")
"""How a plain line begins that tells of an utterance."""


class Program:
    """A running program."""

    def __init__(self, command: Sequence[str], folder: Path, environment: Mapping[str, str]) -> None:
        """Start it in `folder`."""
        folder.mkdir(parents=True, exist_ok=True)
        self.lines: list[tuple[float, str]] = []
        """What it printed so far, with the time.monotonic() of its coming."""
        self.complaints: list[tuple[float, str]] = []
        """The same of stderr."""
        self.begun = time.monotonic()
        self._child = subprocess.Popen(
            command,
            cwd=folder,
            env=dict(environment),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
        )
        for pipe, kept in ((self._child.stdout, self.lines), (self._child.stderr, self.complaints)):
            threading.Thread(target=_keep, args=(pipe, kept), daemon=True).start()

    def heard(self) -> list[tuple[float, str]]:
        """The utterances it told of: when, and their words."""
        told = list(self.lines)
        return [(at, line.removeprefix(each)) for at, line in told for each in HEARD if line.startswith(each)]

    def until(self, true: Callable[[], bool], timeout_s: float) -> bool:
        """Wait for it; False where it did not come so, or the program ended."""
        until = time.monotonic() + timeout_s
        while not true():
            if time.monotonic() > until or self._child.poll() is not None:
                return true()
            time.sleep(0.01)
        return True

    def load(self, length_s: float) -> float:
        """Percent of one core that it and all it started take over the next seconds."""
        before, begun = self._worked(), time.monotonic()
        time.sleep(length_s)
        after, took = self._worked(), time.monotonic() - begun
        return 100 * sum(after[each] - before.get(each, 0.0) for each in after) / took

    def memory_mb(self) -> float:
        """What it and all it started hold now, what they share counted once."""
        return sum(map(share_kb, family(self._child.pid))) / 1024

    def _worked(self) -> dict[int, float]:
        return {each: worked_s(each) for each in family(self._child.pid)}

    def type(self, line: str) -> None:
        """Type a line."""
        assert self._child.stdin is not None
        self._child.stdin.write(f"{line}\n")
        self._child.stdin.flush()

    def kill(self) -> None:
        """End it whatever it does."""
        self._child.kill()
        self._child.wait()

    def end(self) -> int:
        """Leave it as one leaves a terminal; its exit code. Raises Refusal (FINDINGS) where it does not end."""
        assert self._child.stdin is not None
        self._child.stdin.close()
        try:
            return self._child.wait(_END_S)
        except subprocess.TimeoutExpired:
            self.kill()
            raise Refusal(Exit.FINDINGS, "the program did not end with its input; it was killed") from None


def _keep(pipe: IO[str], kept: list[tuple[float, str]]) -> None:
    with pipe:
        for line in pipe:
            kept.append((time.monotonic(), line.strip()))
