"""Exit codes of the command, one line each; documented in README.md."""

from enum import IntEnum


class Exit(IntEnum):
    """What the shell is told."""

    DONE = 0
    """The command did what it was asked."""
    FINDINGS = 1
    """It worked, and what it looked at is not in order (a damaged job, an utterance not understood)."""
    USAGE = 2
    """The command line itself: unknown option, missing argument."""
    BAD_SIZE = 3
    """A length, unit or room that cannot be."""
    BAD_AUDIO = 4
    """A recording that is missing, no audio, silent or too long; no usable microphone."""
    BAD_MODEL = 5
    """A speech model folder that is missing, incomplete or lacks words."""
    BAD_JOB = 6
    """A job file that is missing, damaged, or written by a newer version."""
    JOB_BUSY = 7
    """Another pullcall has the job open."""
    BAD_SETTINGS = 8
    """A settings file that cannot be read or holds a wrong value."""
    NO_VOICE = 9
    """The voice or the loudspeaker does not work."""
    NOT_WRITABLE = 10
    """A folder or disk that cannot be written."""
    STOPPED = 130
    """Interrupted from the keyboard."""


LONGEST = 1000
"""Characters of a message; the middle of a longer one is left out, since the cure stands at its end."""


def one_line(text: str) -> str:
    """`text` as one line that any terminal shows: unprintable signs are spelt out, what is overlong is cut."""
    shown = "".join(each if each.isprintable() else each.encode("unicode_escape").decode() for each in text)
    return shown if len(shown) <= LONGEST else f"{shown[: LONGEST // 2]} ... {shown[-LONGEST // 3 :]}"


class Refusal(Exception):
    """Something the user must mend; carries the exit code and one line that names the thing and the cure."""

    def __init__(self, code: Exit, line: str) -> None:
        self.code = code
        self.line = one_line(line)
        super().__init__(self.line)
