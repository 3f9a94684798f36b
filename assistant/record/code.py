"""The job code: a few words that stand for every row up to where the job was closed.

Five words (40 bits) and three check digits: 'maple otter candle river stone 4 0 7'. Making the code from a hash is slow
on purpose (a tenth of a second), so that a log made up to fit a known code is out of reach.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cache
from hashlib import pbkdf2_hmac
from itertools import pairwise
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.record.chain import START, Row
from assistant.record.clock import NOTE

WORDS = 5
DIGITS = 3
_ROUNDS = 200_000
_SALT = b"pullcall code v1"
_PRIME = 997
"""Larger than any index and prime: one wrong word, or two swapped ones, always change the check digits."""
GOES_ON = ("started", "carried_on")
"""Before such a row the job stood still, and its code so far may have been noted down."""
_EXAMPLE = "a code is five words and three digits, as read out at the end of the job"


@cache
def code_words() -> tuple[str, ...]:
    """The 256 words, in the order of their numbers; none is within one letter of another."""
    return tuple(Path(__file__).with_name("code_words.txt").read_text(encoding="ascii").split())


@cache
def code_of(head: str) -> str:
    """The code of a chain's head (64 hexadecimal digits)."""
    numbers = pbkdf2_hmac("sha256", bytes.fromhex(head), _SALT, _ROUNDS, dklen=WORDS)
    return " ".join([*(code_words()[each] for each in numbers), *_check(numbers)])


def _check(numbers: Sequence[int]) -> str:
    total = sum((place + 2) * (number + 1) for place, number in enumerate(numbers))
    return f"{total % _PRIME:0{DIGITS}d}"


def read_code(typed: str) -> str:
    """A typed code in its one spelling; capitals, commas, hyphens and joined digits do not matter.

    Raises Refusal (USAGE) naming an unknown word, a wrong count, or check digits that do not fit: a typing error.
    """
    plain = "".join(each if each.isalnum() else " " for each in typed.lower())
    words = [each for each in plain.split() if not each.isdecimal()]
    digits = "".join(each for each in plain.split() if each.isdecimal())
    for word in words:
        if word not in code_words():
            raise Refusal(Exit.USAGE, f"job code: '{word}' is not a word of any code; look again: {_EXAMPLE}")
    if len(words) != WORDS or len(digits) != DIGITS or not digits.isascii():
        raise Refusal(Exit.USAGE, f"job code: {len(words)} words and {len(digits)} digits given; {_EXAMPLE}")
    if _check([code_words().index(each) for each in words]) != digits:
        raise Refusal(Exit.USAGE, "job code: the check digits do not fit the words; one was misread, look again")
    return " ".join([*words, *digits])


def sealed(rows: Sequence[Row]) -> Row | None:
    """The row whose code was read out: the last 'job_finished', else the last row; None where there is none."""
    finished = [each for each in rows if each.kind == "job_finished"]
    return finished[-1] if finished else (rows[-1] if rows else None)


def job_code(rows: Sequence[Row]) -> str:
    """The code of a job."""
    row = sealed(rows)
    return code_of(row.hash if row is not None else START)


class Match(Enum):
    """What a code kept elsewhere says about a job file."""

    FITS = "fits: nothing was changed, cut or replaced since the code was read out"
    LONGER = "fits an earlier end of this job: up to there nothing was changed, and rows were added after it"
    DIFFERS = "does not fit: rows were changed, cut or replaced, or it is the code of another job"


@dataclass(frozen=True)
class Check:
    """A code held against a job."""

    match: Match
    seq: int
    """Up to which row the code vouches; 0 where it does not fit."""


def check_code(typed: str, rows: Sequence[Row]) -> Check:
    """Hold a typed code against rows whose chain was found whole, or against those of `Audit.sealing`.

    Raises Refusal (USAGE) for a typo.
    """
    code = read_code(typed)
    told = [each for each in rows if each.kind != NOTE]
    ends = [one for one, two in pairwise(told) if one.kind == "job_finished" or two.kind in GOES_ON]
    for row in (*rows[-1:], *reversed(ends)):
        if code_of(row.hash) == code:
            return Check(Match.FITS if row is rows[-1] else Match.LONGER, row.seq)
    return Check(Match.DIFFERS, 0)
