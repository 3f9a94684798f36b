"""What is read of processes, against what the processes say of themselves."""

import mmap
import os
import subprocess
import sys
import threading
import time

import pytest

from assistant.gauges.processes import family, holding, share_kb, told, worked_s

pytestmark = pytest.mark.skipif(not told(), reason="no /proc: this system tells nothing of processes")

# A grandchild started by another thread than the first, as the microphone's process is; it works half a second.
PARENT = """
import subprocess, sys, threading
def start():
    child = subprocess.Popen([sys.executable, "-c", sys.argv[1]], stdin=subprocess.PIPE)
    sys.stdin.read()
    child.communicate()
thread = threading.Thread(target=start)
thread.start()
thread.join()
"""
WORK = """
import sys, time
while time.process_time() < 0.5: pass
print(time.process_time(), flush=True)
sys.stdin.read()
"""


def test_the_work_of_a_process_started_by_any_thread_counts() -> None:
    with subprocess.Popen(
        [sys.executable, "-c", PARENT, WORK], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as parent:
        assert parent.stdout is not None and parent.stdin is not None
        says = float(parent.stdout.readline())
        found = family(parent.pid)
        child = found[-1]
        assert len(found) == 2 and found[0] == parent.pid
        assert worked_s(child) == pytest.approx(says, abs=0.1)  # the system counts in hundredths
        assert sum(map(worked_s, found)) > worked_s(child)
        parent.stdin.close()
    assert worked_s(child) == 0.0
    assert family(child) == [child]


def test_open_files_and_threads_are_counted() -> None:
    before = holding()
    reading, writing = os.pipe()
    stop = threading.Event()
    thread = threading.Thread(target=stop.wait)
    thread.start()
    more = holding()
    os.close(reading)
    os.close(writing)
    stop.set()
    thread.join()
    assert (more.handles - before.handles, more.threads - before.threads) == (2, 1)
    deadline = time.monotonic() + 5
    while holding().threads != before.threads and time.monotonic() < deadline:
        time.sleep(0.01)  # the system forgets a thread a moment after it ended
    assert (holding().handles, holding().threads) == (before.handles, before.threads)


def test_memory_is_that_of_the_process() -> None:
    before = holding(os.getpid()).resident_kb
    kept = bytearray(os.urandom(50 * 2**20))
    with mmap.mmap(-1, 500 * 2**20) as only_asked_for:
        assert holding().resident_kb - before == pytest.approx(50 * 1024, rel=0.1)
        assert kept and len(only_asked_for)


def test_memory_that_two_share_is_counted_once() -> None:
    """The kernel's rule: a page that n processes share counts 1/n for each (proc(5), smaps: Pss)."""
    size = 64 * 2**20
    with mmap.mmap(-1, size) as shared:
        shared.write(os.urandom(size))
        alone = share_kb(os.getpid())
        reading, writing = os.pipe()
        child = os.fork()
        if not child:  # pragma: no cover
            touched = sum(shared[place] for place in range(0, size, 4096))
            os.write(writing, str(touched).encode())
            time.sleep(30)
            os._exit(0)
        try:
            os.read(reading, 32)
            assert alone - share_kb(os.getpid()) > 0.4 * size / 1024
            assert share_kb(child) > 0.5 * size / 1024
        finally:
            os.kill(child, 9)
            os.waitpid(child, 0)
            os.close(reading)
            os.close(writing)
    assert share_kb(child) == 0
