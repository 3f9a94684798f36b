"""The doctor's look at the machine: model, disk, clock, terminal, pedal."""

import os
import shutil
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

from assistant.finding import Check, Finding
from assistant.screen.layout import LEAST, fits
from assistant.screen.sight import BEST_ARC, cap_mm, height_mm

LEAST_FREE = 200_000_000
"""Bytes: a job, its voice and a long day's kept sound."""
BUILT = datetime(2026, 1, 1).astimezone()
"""No clock that is right is before it."""


def machine_checks(folder: Path, model: Path | None, pedal: Sequence[str], second: bool) -> dict[str, Check]:
    """What needs no sound; `second` = a second ear is wanted."""
    return {
        "model": partial(model_check, model, second),
        "disk": partial(disk_check, folder),
        "clock": clock_check,
        "terminal": terminal_check,
        "pedal": partial(pedal_check, pedal),
    }


def model_check(model: Path | None, second: bool) -> Finding:
    """Does it load, with the second ear of a job, and does that answer in time? Raises Refusal (BAD_MODEL)."""
    from assistant.speech.ears import VoskEars
    from assistant.speech.second_ear import second_ear

    start = time.monotonic()
    ears = VoskEars(model, second=lambda: second_ear(second))
    ears.listen("ready")  # a graph is loaded when it is first listened under
    told = f"{ears.name}, ready in {time.monotonic() - start:.1f} s"
    if ears.second_is_late:
        return Finding("model", False, f"{told}; the second ear answers too late", "set second = false under [ears]")
    return Finding("model", True, told)


def disk_check(folder: Path, free: Callable[[Path], int] = lambda path: shutil.disk_usage(path).free) -> Finding:
    """Can the job be written here, and is there room for it?"""
    if not os.access(folder, os.W_OK):
        return Finding("disk", False, f"{folder} cannot be written", "start it in a folder that can be written")
    found = free(folder)
    told = f"{found / 1e6:.0f} MB free in {folder}"
    if found < LEAST_FREE:
        return Finding("disk", False, told, f"make room: {LEAST_FREE / 1e6:.0f} MB are wanted")
    return Finding("disk", True, told)


def clock_check(now: Callable[[], datetime] = lambda: datetime.now().astimezone()) -> Finding:
    """Is the date possible?"""
    found = now()
    told = found.isoformat(timespec="seconds")
    if found < BUILT:
        return Finding("clock", False, told, "set the machine's date and time")
    return Finding("clock", True, told)


def terminal_check(size: Callable[[], os.terminal_size] = shutil.get_terminal_size) -> Finding:
    """Is it large enough for the drawn screen, whose capitals are to be read from two metres?"""
    columns, rows = size()
    wanted = height_mm(BEST_ARC)
    cells = next((each for each in range(1, rows + 1) if cap_mm(each, rows) >= wanted), rows)
    told = f"{columns} columns, {rows} rows; capitals readable from 2 m are {cells} rows high"
    if not fits(columns, rows):
        wish = f"make the window at least {LEAST[0]} by {LEAST[1]}, or use --plain"
        return Finding("terminal", False, told, wish)
    return Finding("terminal", True, told)


def pedal_check(keys: Sequence[str]) -> Finding:
    """Has it been learnt? A job needs none, so this always passes."""
    told = f"keys {', '.join(keys)}" if keys else "none learnt (Ctrl-L learns one); F1, F2 and F3 do the same, F4 talks"
    return Finding("pedal", True, told)
