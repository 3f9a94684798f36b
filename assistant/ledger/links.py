"""The hash chain of a whole file at once: as `record.chain.why_broken` looks at each row, in a fifth of the time."""

from collections.abc import Sequence
from functools import lru_cache
from hashlib import sha256

from assistant.ledger.turns import Doubt
from assistant.record.chain import START

RawRow = tuple[int, str, int, str, str, str]
"""As `schema.COLUMNS`: number, wall time, monotonic ms, kind, payload, hash."""

_DOMAIN = "pullcall row v1"
_SHORT = 128
_LENGTHS = tuple(each.to_bytes(8, "big").decode() for each in range(_SHORT))
"""Of a part that is hashed: its eight bytes, as characters. From 128 on one would take two bytes."""
_HASH = 64
"""Characters of one."""
_NUMBERED = 1024
"""Beginnings kept; jobs longer than that are few."""


def must_hold(rows: Sequence[RawRow]) -> None:
    """Is every row chained to the one before it? Raises Doubt where one is not, or holds what no session writes."""
    numbers, walls, times, kinds, payloads, hashes = zip(*rows, strict=True)
    if numbers != tuple(range(1, len(rows) + 1)) or set(map(type, times)) != {int}:
        raise Doubt
    for texts in (walls, kinds, payloads, hashes):
        if set(map(type, texts)) != {str}:
            raise Doubt
    if set(map(len, hashes)) != {_HASH} or max(map(len, walls)) >= _SHORT or max(map(len, kinds)) >= _SHORT:
        raise Doubt
    links = zip(numbers, walls, map(str, times), kinds, payloads, (START, *hashes), hashes, strict=False)
    for number, wall, ms, kind, payload, before, found in links:
        data = _short(number, wall, ms, kind, payload, before) if len(payload) < _SHORT else b""
        if sha256(data or _any((str(number), wall, ms, kind, payload, before))).hexdigest() != found:
            raise Doubt


def _short(number: int, wall: str, ms: str, kind: str, payload: str, before: str) -> bytes:
    """What is hashed of a row whose parts are short; b'' where not every character is one byte."""
    long = _LENGTHS
    begin = f"{_begin(number)}{long[len(wall)]}{wall}{long[len(ms)]}{ms}{long[len(kind)]}{kind}"
    text = f"{begin}{long[len(payload)]}{payload}{long[_HASH]}{before}"
    return text.encode() if text.isascii() else b""


@lru_cache(maxsize=_NUMBERED)
def _begin(number: int) -> str:
    return f"{_DOMAIN}{_LENGTHS[len(str(number))]}{number}"


def _any(parts: Sequence[str]) -> bytes:
    """Likewise, of any row."""
    texts = [each.encode("utf-8", "surrogatepass") for each in parts]
    return b"".join((_DOMAIN.encode(), *(each for text in texts for each in (len(text).to_bytes(8, "big"), text))))
