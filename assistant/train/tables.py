"""Corpus and alignments -> the tables a training run draws from; long clips are cut between words."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from random import Random

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from assistant.ports import RATE
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
PEOPLE_WEIGHT = 1.8
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
        yield _row(clip, found, number, (first, until), (begin, end), weight)
        first = until + 1


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


def _row(
    clip: Clip, found: Alignment, number: dict[str, int], words: tuple[int, int], seconds: tuple[float, float],
    weight: float,
) -> Row:  # fmt: skip
    begin, end = seconds
    chain, segments, here = [0], [(0, 0)], begin
    for phones, stop in list(zip(found.words, found.ends, strict=True))[words[0] : words[1] + 1]:
        if phones[0][1] > here > begin:  # what stands before the first word is there already
            segments.append((0, round((here - begin) * RATE)))
        segments += [(number[phone], round((at - begin) * RATE)) for phone, at in phones]
        chain += [number[phone] for phone, _ in phones] + [0]
        here = stop
    segments.append((0, round((here - begin) * RATE)))
    offset = round(begin * RATE)
    return Row(clip.start + offset, min(clip.size - offset, round((end - begin) * RATE)), tuple(chain),
               tuple(segments), weight)  # fmt: skip


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
