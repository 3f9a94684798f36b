"""How long a folder's review takes and what memory: `pullcall review FOLDER` itself, run and watched from outside."""

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from assistant.ledger.places import KEPT, job_files

_START = "import sys; from assistant.cli import main; sys.exit(main())"
_FIRST = "pullcall: first table"
_LOOK_S = 0.1


@dataclass(frozen=True)
class Run:
    """One review."""

    first_table_s: float
    """Until a table stood on the screen: the first one, or the whole one where that was soon enough."""
    whole_s: float
    """Until the program had ended."""
    of_first: str
    """How many jobs the first table was of."""
    cpu_s: float
    """Processor time of all its processes together; nan where the system does not tell."""
    memory_mb: float
    """Most resident memory of all its processes together; nan where the system does not tell."""

    def __str__(self) -> str:
        first = f"first table {self.first_table_s:6.1f} s (of {self.of_first} jobs)"
        return f"{first}, all {self.whole_s:6.1f} s, processor {self.cpu_s:6.1f} s, memory {self.memory_mb:5.0f} MB"


def measure(folder: Path) -> Iterator[tuple[str, Run]]:
    """Cold: nothing kept, files out of the system's cache where it allows that. Then warm: kept a moment ago."""
    places = job_files(folder)
    (folder / KEPT).unlink(missing_ok=True)
    for path, _ in places:
        _forget(path)
    yield "cold", _run(folder, len(places))
    yield "warm", _run(folder, len(places))


def _forget(path: str) -> None:
    if hasattr(os, "posix_fadvise"):
        file = os.open(path, os.O_RDONLY)
        os.posix_fadvise(file, 0, 0, os.POSIX_FADV_DONTNEED)
        os.close(file)


def _run(folder: Path, jobs: int) -> Run:
    command = [sys.executable, "-c", _START, "review", str(folder), "--practice"]
    begun, used = time.monotonic(), _used_s()
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        peak = _Peak(running.pid)
        told: list[tuple[float, str]] = []
        ears = threading.Thread(target=_hear, args=(running, told, begun))
        ears.start()
        assert running.stdout is not None
        shown = running.stdout.readline() and time.monotonic() - begun
        running.stdout.read()
        ears.join()
    whole = (float(shown), f"{jobs:,}")
    first = next(((when, line.split()[4]) for when, line in told if line.startswith(_FIRST)), whole)
    return Run(first[0], time.monotonic() - begun, first[1], _used_s() - used, peak.end())


def _used_s() -> float:
    """Processor time of all processes that this one started and that ended, with those they started."""
    try:
        import resource
    except ImportError:
        return float("nan")
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _hear(running: "subprocess.Popen[str]", told: list[tuple[float, str]], begun: float) -> None:
    assert running.stderr is not None
    for line in running.stderr:
        told.append((time.monotonic() - begun, line))


class _Peak:
    """Looks at the memory of a process and those it started, until told to end."""

    def __init__(self, process: int) -> None:
        self._process, self._most_kb, self._ended = process, 0, threading.Event()
        self._thread = threading.Thread(target=self._look, daemon=True)
        self._thread.start()

    def _look(self) -> None:
        while not self._ended.wait(_LOOK_S):
            self._most_kb = max(self._most_kb, sum(map(_resident_kb, family(self._process))))

    def end(self) -> float:
        """The most seen, in MB."""
        self._ended.set()
        self._thread.join()
        return self._most_kb / 1024 if self._most_kb else float("nan")


def family(process: int) -> list[int]:
    """A process and all that it started, as far as /proc tells."""
    try:
        children = Path(f"/proc/{process}/task/{process}/children").read_text(encoding="ascii").split()
    except OSError:
        children = []
    return [process, *(each for child in children for each in family(int(child)))]


def _resident_kb(process: int) -> int:
    try:
        lines = Path(f"/proc/{process}/status").read_text(encoding="ascii", errors="replace").splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("VmRSS:")), 0)
