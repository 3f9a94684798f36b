"""R12: an 8 h day in a minute. Memory stays where it is from room to room, and no file is left open."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

TREE = Path(__file__).parents[2]
MOST_KB_AN_HOUR = 100
"""Of 60,000 in all: the allocator's own noise over a day."""


def test_r12_a_compressed_day(nightly: bool, tell: Callable[[str], None]) -> None:
    if not Path("/proc/self/status").exists():
        pytest.skip("no /proc: memory and open files cannot be counted here")
    order = [sys.executable, "-m", "tests.record.soak_child", "5" if nightly else "1"]
    done = subprocess.run(order, capture_output=True, text=True, cwd=TREE, timeout=1_800)
    assert done.returncode == 0, done.stderr[-2_000:]
    found = json.loads(done.stdout)
    measured = found["measured"]
    later = measured[len(measured) // 3 :]  # the first rooms fill what is read once: grammars, templates, messages
    slope, _ = np.polyfit([each["hours"] for each in later], [each["kb"] for each in later], 1)
    assert measured[-1]["hours"] >= 8 and len(later) >= 3
    assert {each["handles"] for each in measured} == {measured[0]["handles"]}
    assert slope < MOST_KB_AN_HOUR
    hours, rooms, handles = measured[-1]["hours"], len(measured), measured[0]["handles"]
    tell(f"R12: {hours:.0f} h, {rooms} rooms, {found['said']} utterances, {slope:.0f} KB an hour, {handles} files open")
