"""Has the terminal been closed under the program? Textual itself would read its end for ever."""

import os
import select
import sys


def is_terminal() -> bool:
    """Is there one at standard input, so that it can be lost?"""
    try:
        return os.isatty(0)
    except OSError:
        return False


def hung_up() -> bool:
    """Nobody holds the other end of standard input any more."""
    if sys.platform == "win32":
        return False  # closing the window ends the program there
    watch = select.poll()
    watch.register(0, 0)
    return any(event & (select.POLLHUP | select.POLLERR | select.POLLNVAL) for _, event in watch.poll(0))
