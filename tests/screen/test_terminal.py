"""`pullcall` alone in a real terminal (a pseudo-terminal): drawn, worked by keys, left, and resumed."""

import os
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

from assistant.exits import Exit
from tests.screen.test_work_command import PULLCALL, TREE, said

if sys.platform == "win32":
    pytest.skip("no pseudo-terminals here", allow_module_level=True)

import fcntl
import pty
import struct
import termios

LEAVES = b"\x1b[?1049l"
"""What a program that drew the whole screen writes at its end."""


class Terminal:
    """A terminal of 100 columns and 30 rows with a program in it."""

    def __init__(self, folder: Path, *options: str, term: str = "xterm-256color") -> None:
        self.shown = b""
        self._own, inner = pty.openpty()
        fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", 30, 100, 0, 0))
        settings = folder / "settings.toml"
        settings.touch()
        environment = os.environ | {"TERM": term, "PYTHONPATH": str(TREE), "PULLCALL_SETTINGS": str(settings)}
        self.child = subprocess.Popen(
            [*PULLCALL, *options],
            cwd=folder,
            env=environment,
            stdin=inner,
            stdout=inner,
            stderr=inner,
            start_new_session=True,
        )
        os.close(inner)

    def see(self, text: str) -> None:
        """Wait until `text` was drawn since the last key."""
        until = time.monotonic() + 20
        while text.encode() not in self.shown:
            assert time.monotonic() < until, f"waited in vain for '{text}'"
            self._read()

    def _read(self) -> bool:
        ready, _, _ = select.select([self._own], [], [], 0.1)
        if not ready:
            return True
        try:
            piece = os.read(self._own, 65_536)
        except OSError:  # the program has closed its side
            return False
        self.shown += piece
        return bool(piece)

    def press(self, keys: str) -> None:
        self.shown = b""
        os.write(self._own, keys.encode())

    def hang_up(self) -> None:
        os.close(self._own)

    def end(self) -> None:
        """Wait for the program's end."""
        while self.child.poll() is None:
            self._read()
        while self._read() and select.select([self._own], [], [], 0)[0]:
            pass
        os.close(self._own)
        assert self.child.returncode == Exit.DONE, self.shown[-500:]


def test_a_job_is_drawn_tapped_left_and_resumed(tmp_path: Path) -> None:
    first = Terminal(tmp_path, "--no-mic", "--quiet")
    first.see("Job number")
    first.press("1")
    first.see("Number, for example")
    first.press("42\r")
    first.see("heard: job four two")
    first.press("1")
    first.see("heard: tufted synthetic")
    first.press("\x03")
    first.end()
    assert LEAVES in first.shown
    assert b"pullcall: the job is kept; resume it with: pullcall --job carpet.job" in first.shown
    assert said(tmp_path / "carpet.job") == ["job four two", "tufted synthetic"]

    second = Terminal(tmp_path, "--no-mic", "--quiet")
    second.see("Job 42")
    second.press("\x03")
    second.end()
    assert said(tmp_path / "carpet.job") == ["job four two", "tufted synthetic"]


def test_a_terminal_that_is_closed_ends_the_program_and_keeps_the_job(tmp_path: Path) -> None:
    """It used to go on for ever at full load, reading the end of a terminal that was gone."""
    left = Terminal(tmp_path, "--no-mic", "--quiet")
    left.see("Job number")
    left.press("1")
    left.see("Number, for example")
    left.press("42\r")
    left.see("heard: job four two")
    left.hang_up()
    assert left.child.wait(20) is not None
    assert said(tmp_path / "carpet.job") == ["job four two"]


def test_a_terminal_that_cannot_draw_gets_plain_lines(tmp_path: Path) -> None:
    plain = Terminal(tmp_path, "--no-mic", "--quiet", term="dumb")
    plain.see("k1 Number")
    assert b"pullcall: no terminal to draw on: going on in plain lines, as with --plain" in plain.shown
    plain.press("42\r")
    plain.see("heard: job four two")
    plain.press("\x04")
    plain.end()
    assert LEAVES not in plain.shown
