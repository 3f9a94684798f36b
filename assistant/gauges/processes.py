"""What the system tells of a process and all that it started: processor time, memory, open files, threads.

From Linux' /proc; elsewhere there is nothing to read, and whoever needs it asks `told` first.
"""

import os
from dataclasses import dataclass
from pathlib import Path

_PROC = Path("/proc")


def told() -> bool:
    """Does this system tell?"""
    return (_PROC / "self" / "status").exists()


def family(process: int) -> list[int]:
    """A process and all that it started, whichever of its threads started it."""
    files = _PROC.joinpath(str(process), "task").glob("*/children")
    children = [each for file in files for each in _text(file).split()]
    return [process, *(each for child in children for each in family(int(child)))]


def worked_s(process: int) -> float:
    """Seconds of processor time of a process so far, its ended threads included; 0 for one that is gone."""
    # The name stands in brackets and may hold anything; what follows it is numbers.
    fields = _text(_PROC / str(process) / "stat").rpartition(")")[2].split()
    return sum(map(int, fields[11:13])) / os.sysconf("SC_CLK_TCK") if fields else 0.0


def share_kb(process: int) -> int:
    """The proportional set size: memory of its own, and of what several share its part; 0 for one that is gone."""
    rows = _text(_PROC / str(process) / "smaps_rollup").splitlines()
    return next((int(row.split()[1]) for row in rows if row.startswith("Pss:")), 0)


@dataclass(frozen=True)
class Holding:
    """What a process holds at a moment."""

    resident_kb: int
    handles: int
    """Open files, pipes and sockets."""
    threads: int


def holding(process: int | None = None) -> Holding:
    """What `process` (None = this one) holds now."""
    place = _PROC / ("self" if process is None else str(process))
    rows = dict(line.split(":", 1) for line in _text(place / "status").splitlines() if ":" in line)
    handles = len(list((place / "fd").iterdir()))
    return Holding(int(rows["VmRSS"].split()[0]), handles, int(rows["Threads"]))


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="ascii", errors="replace")
    except OSError:
        return ""
