"""Corpus and alignments -> the tables a training run draws from; long clips are cut between words."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from random import Random

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from assistant.ports import RATE
from assistant.speech.witness import numbered
from assistant.train.clips import NEVER, Clips
from assistant.train.corpus import Alignment, Clip

LONG = 5.0
"""Seconds; longer clips are cut."""
SHORTEST_PIECE, LONGEST_PIECE = 1.2, 4.5
"""Seconds."""
PAUSE = 0.15
"""Seconds between words that make a better place to cut."""
AROUND = 0.12
"""Seconds kept before and after a piece, at most half of the pause there."""
BROKEN_SHARE = 0.15
"""Of the clips, taken once more broken off in a word: what was said of it is phones of any word, not the word."""
PEOPLE_WEIGHT = 4.0
"""How much more often people are drawn than synthetic speakers."""


@dataclass(frozen=True)
class Row:
    """One clip or piece of a clip."""

    start: int
    size: int
    chain: tuple[int, ...]
    segments: tuple[tuple[int, int], ...]
    """(phone, first sample) with the silences between words."""
    weight: float
    words: tuple[str, ...]
    """'' for one that is broken off."""


def rows(clip: Clip, found: Alignment, number: dict[str, int], dice: Random) -> Iterator[Row]:
    """The clip as one row, or as pieces. `number`: phone -> its place, silence is 0."""
    weight = 1.0 if clip.source == "synthetic" else PEOPLE_WEIGHT
    first, last = 0, len(found.words) - 1
    whole = clip.size / RATE
    while first <= last:
        until = last
        if whole > LONG:
            limit = found.words[first][0][1] + dice.uniform(SHORTEST_PIECE, LONGEST_PIECE)
            until = first
            while until < last and found.ends[until + 1] <= limit:
                until += 1
            until = _pause(found, first, until)
        begin = 0.0 if first == 0 and whole <= LONG else _between(found, first - 1, whole, before=True)
        end = whole if until == last and whole <= LONG else _between(found, until, whole, before=False)
        yield _row(clip, _spoken(clip, found)[first : until + 1], number, (begin, end), weight)
        first = until + 1
    if dice.random() < BROKEN_SHARE:
        yield from _broken(clip, found, number, dice, weight)


Spoken = tuple[str, tuple[tuple[str, float], ...], float]
"""A word, its phones with their begins, and its end."""


def _spoken(clip: Clip, found: Alignment) -> list[Spoken]:
    return list(zip(clip.words, found.words, found.ends, strict=True))


def _broken(clip: Clip, found: Alignment, number: dict[str, int], dice: Random, weight: float) -> Iterator[Row]:
    """Some words and the first phones of the next."""
    places = [place for place, phones in enumerate(found.words) if len(phones) > 1]
    if not places:
        return
    last, length = dice.choice(places), dice.uniform(SHORTEST_PIECE, LONGEST_PIECE)
    phones = found.words[last][: dice.randrange(1, len(found.words[last]))]
    stop, first = found.words[last][len(phones)][1], last
    while first > 0 and found.words[first - 1][0][1] > stop - length:
        first -= 1
    begin = _between(found, first - 1, clip.size / RATE, before=True)
    said: list[Spoken] = [*_spoken(clip, found)[first:last], ("", phones, stop)]
    yield _row(clip, said, number, (begin, stop), weight)


def _pause(found: Alignment, first: int, until: int) -> int:
    """The last word from the second on that a pause follows, so that pieces are sentences where they can be."""
    for word in range(until, first, -1):
        if word + 1 < len(found.words) and found.words[word + 1][0][1] - found.ends[word] >= PAUSE:
            return word
    return until


def _between(found: Alignment, word: int, whole: float, *, before: bool) -> float:
    """Where to cut after `word` (-1: before the first), seen from the piece after it (`before`) or the one up to it."""
    left = found.ends[word] if word >= 0 else 0.0
    right = found.words[word + 1][0][1] if word + 1 < len(found.words) else whole
    room = min(AROUND, (right - left) / 2)
    return right - room if before else left + room


def _row(clip: Clip, said: list[Spoken], number: dict[str, int], seconds: tuple[float, float], weight: float) -> Row:
    begin, end = seconds
    chain, segments, here = [0], [(0, 0)], begin
    for word, phones, stop in said:
        if phones[0][1] > here > begin:  # what stands before the first word is there already
            segments.append((0, round((here - begin) * RATE)))
        (names,) = numbered(word, [[phone for phone, _ in phones]], number)
        segments += [(name, round((at - begin) * RATE)) for name, (_, at) in zip(names, phones, strict=True)]
        chain += [*names, 0]
        here = stop
    segments.append((0, round((here - begin) * RATE)))
    offset = round(begin * RATE)
    return Row(clip.start + offset, min(clip.size - offset, round((end - begin) * RATE)), tuple(chain),
               tuple(segments), weight, tuple(word for word, _, _ in said))  # fmt: skip


def clips_of(audio: NDArray[np.int16], made: list[Row], device: torch.device) -> Clips:
    """The rows as tensors on one device."""
    longest, most = max(len(each.chain) for each in made), max(len(each.segments) for each in made) + 1
    chain = np.zeros((len(made), longest), np.int64)
    phone = np.zeros((len(made), most), np.int64)
    begin = np.full((len(made), most), NEVER, np.int64)
    for place, each in enumerate(made):
        chain[place, : len(each.chain)] = each.chain
        phone[place, : len(each.segments)] = [p for p, _ in each.segments]
        begin[place, : len(each.segments)] = np.maximum.accumulate([at for _, at in each.segments])

    def column(values: Iterable[int]) -> Tensor:
        return torch.tensor(list(values), dtype=torch.int64, device=device)

    return Clips(
        audio=torch.tensor(np.asarray(audio), device=device),
        start=column(each.start for each in made),
        size=column(each.size for each in made),
        chain=torch.from_numpy(chain).to(device),
        chain_size=column(len(each.chain) for each in made),
        segment_phone=torch.from_numpy(phone).to(device),
        segment_begin=torch.from_numpy(begin).to(device),
        weight=torch.tensor([each.weight for each in made], device=device),
    )
