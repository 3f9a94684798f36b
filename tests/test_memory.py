"""The threads' memory: one place for all of them, where the system's malloc can be told so."""

import ctypes
import platform
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from assistant.memory import share_one_arena

TREE = Path(__file__).parents[1]
GLIBC = pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="malloc is not glibc's")
THREADS = """
import ctypes, threading
from assistant.memory import share_one_arena
share_one_arena()
threads = [threading.Thread(target=bytes, args=(100_000,)) for _ in range(4)]
for each in threads: each.start()
for each in threads: each.join()
libc = ctypes.CDLL(None)
libc.fdopen.restype = ctypes.c_void_p
out = ctypes.c_void_p(libc.fdopen(1, b"w"))
libc.malloc_info(0, out)
libc.fflush(out)
"""


@GLIBC
def test_all_threads_take_memory_from_one_place() -> None:
    done = subprocess.run([sys.executable, "-c", THREADS], cwd=TREE, capture_output=True, text=True, check=True)
    assert done.stdout.count("<heap nr=") == 1


@pytest.mark.parametrize(
    ("system", "malloc", "told"),
    [("linux", ["mallopt"], [(-8, 1)]), ("linux", [], []), ("darwin", ["mallopt"], []), ("win32", [], [])],
)
def test_a_malloc_that_is_not_glibc_s_is_left_alone(
    monkeypatch: pytest.MonkeyPatch, system: str, malloc: list[str], told: list[tuple[int, int]]
) -> None:
    calls = list[tuple[int, int]]()
    library = SimpleNamespace(**{each: lambda *given: calls.append(given) for each in malloc})
    monkeypatch.setattr(sys, "platform", system)
    monkeypatch.setattr(ctypes, "CDLL", lambda name: library)
    share_one_arena()
    assert calls == told
