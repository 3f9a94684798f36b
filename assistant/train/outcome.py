"""How a command of this package ends: done, or with one line on stderr that names what must be mended."""

import sys
from collections.abc import Callable

from assistant.exits import Exit, Refusal
from assistant.speech.jsgf import GrammarError
from assistant.train.kaldi import FormatError


def outcome(command: Callable[[], None]) -> Exit:
    """Run it; the exit code. Anything but bad input stays a traceback: it is a fault of the program."""
    try:
        command()
    except (Refusal, GrammarError, FormatError, OSError) as error:
        refusal = _refusal(error)
        print(f"assistant.train: {refusal.line}", file=sys.stderr)
        return refusal.code
    return Exit.DONE


def _refusal(error: Exception) -> Refusal:
    match error:
        case Refusal():
            return error
        case FormatError():
            return Refusal(Exit.BAD_MODEL, str(error))
        case OSError(filename=str() as name):
            return Refusal(Exit.USAGE, f"{name}: {error.strerror}; name another place")
        case _:
            return Refusal(Exit.USAGE, str(error))
