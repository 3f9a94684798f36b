"""Where the phones of each clip are, by a network of our own: the best path through the text's states (Viterbi)."""

import json
import math
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from assistant.ports import RATE
from assistant.speech.cepstra import STEP, WINDOW
from assistant.speech.layout import SUBSAMPLING
from assistant.speech.witness import numbered
from assistant.train.align import LONGEST_PHONE
from assistant.train.corpus import Alignment, Clip
from assistant.train.features import Cepstra
from assistant.train.lexicon import sound
from assistant.train.network import Network, padded
from assistant.train.sentences import Pronunciations
from assistant.train.spelling import ENTRY, States, states

NEVER = -1e30
GROUP = 48
"""Clips aligned at once, of about one length."""
SILENCE_COST = 1.5
"""Of a silence behind a word, in log score: a weak frame between two words is none."""
WORST = 0.03
"""Share of the clips left out for fitting their text worst."""


@dataclass(frozen=True)
class BestPath:
    """The best path of one clip."""

    begins: list[tuple[int, int]]
    """(state, first frame), in the order of time; none where the clip has fewer frames than its text has phones."""
    cost: float
    """What the text costs a frame against the best outputs whatever the text; infinite where there is no path."""


def _table(group: Sequence[States], device: torch.device) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """[clips, states] phone, before, boundary, last; filled up with states that cannot be entered."""
    most = max(len(each.phone) for each in group)

    def column(name: str, filling: int) -> Tensor:
        rows = [[*getattr(each, name), *[filling] * (most - len(each.phone))] for each in group]
        return torch.tensor(rows, device=device)

    unreached = max(max(each.boundary) for each in group) + 1
    return column("phone", 0), column("before", ENTRY), column("boundary", unreached), column("last", 0).bool()


@torch.no_grad()
def best_paths(scores: Tensor, frames: Sequence[int], group: Sequence[States]) -> list[BestPath]:
    """`scores` [frames, clips, outputs] and how many frames of each clip count -> a path for each clip."""
    phone, before, boundary, last = _table(group, scores.device)
    silence, most = (phone == 0) & (before == ENTRY), int(boundary.max()) + 1
    entered, inside = before == ENTRY, before.clamp_min(0)
    outputs = scores.transpose(0, 1)
    index = (2 * phone)[:, None].expand(-1, len(scores), -1)
    first, rest = outputs.gather(2, index), outputs.gather(2, index + 1)
    alpha = torch.where(entered & (boundary == 0), first[:, 0], NEVER)
    history, moved = [alpha], [torch.ones_like(entered)]
    for frame in range(1, len(scores)):
        ended = torch.full((len(group), most + 1), NEVER, device=scores.device)
        after = torch.where(last, boundary + 1, most)
        ended = ended.scatter_reduce(1, after, torch.where(last, alpha, NEVER), "amax")
        hub = ended.scatter_reduce(1, torch.where(silence, boundary, most), torch.where(silence, alpha, NEVER), "amax")
        come = torch.where(silence, ended.gather(1, boundary) - SILENCE_COST, hub.gather(1, boundary))
        come = torch.where(entered, come, alpha.gather(1, inside)) + first[:, frame]
        stay = alpha + rest[:, frame]
        moved.append(come > stay)
        alpha = torch.maximum(come, stay)
        history.append(alpha)
    best = outputs.max(2)[0].cumsum(1).cpu().numpy()
    alphas, moves = torch.stack(history, 1).cpu().numpy(), torch.stack(moved, 1).cpu().numpy()
    return [
        _back(each, alphas[place, :size], moves[place, :size], float(best[place, size - 1]))
        for place, (each, size) in enumerate(zip(group, frames, strict=True))
    ]


def _back(told: States, alphas: NDArray[np.float32], moves: NDArray[np.bool_], best: float) -> BestPath:
    words = max(told.boundary)
    boundary, last = np.array(told.boundary), np.array(told.last)
    silent = ~last & (np.array(told.phone) == 0)

    def ending(at: int, *, silence: bool) -> NDArray[np.int64]:
        """States that may come before boundary `at`."""
        return np.flatnonzero((last & (boundary == at - 1)) | (silence & silent & (boundary == at)))

    frame, begins = len(alphas) - 1, list[tuple[int, int]]()
    choices = ending(words, silence=True)
    state = int(choices[alphas[frame, choices].argmax()])
    if alphas[frame, state] < NEVER / 2:
        return BestPath([], math.inf)
    cost = (best - float(alphas[frame, state])) / len(alphas)
    while True:
        begin = int(np.flatnonzero(moves[: frame + 1, state])[-1])
        begins.append((state, begin))
        if begin == 0:
            return BestPath(begins[::-1], cost)
        frame = begin - 1
        if told.before[state] != ENTRY:
            state = told.before[state]
        else:
            choices = ending(told.boundary[state], silence=not silent[state])
            state = int(choices[alphas[frame, choices].argmax()])


def second(frame: int) -> float:
    """When an output frame begins: half-way between its centre and the one before."""
    return max(0.0, round(((frame - 0.5) * SUBSAMPLING * STEP + WINDOW / 2) / RATE, 3))


def alignment(number: int, told: States, path: BestPath, frames: int, names: Sequence[str]) -> Alignment | None:
    """The path as times; None where there is none or a phone is too long. `names`: of the phones, silence is 0."""
    if not path.begins:
        return None
    begins = [*path.begins, (0, frames)]
    words, ends = list[tuple[tuple[str, float], ...]](), list[float]()
    for (state, begin), (_, end) in pairwise(begins):
        phone = told.phone[state]
        if phone == 0:
            continue
        if (end - begin) * SUBSAMPLING * STEP / RATE > LONGEST_PHONE:
            return None
        here = (names[phone], second(begin))
        if told.before[state] == ENTRY:
            words.append((here,))
            ends.append(second(end))
        else:
            words[-1], ends[-1] = (*words[-1], here), second(end)
    return Alignment(number, tuple(words), tuple(ends))


class NetworkAligner:
    """A checkpoint at work."""

    def __init__(self, network: Network, names: Sequence[str]) -> None:
        """`names`: of the phones by number, silence first."""
        self._network, self._names = network.eval(), [sound(each) for each in names]
        self._number = {name: place for place, name in enumerate(names)}
        self._device = next(network.parameters()).device
        self._cepstra = Cepstra().to(self._device)

    def align(
        self, clips: Sequence[tuple[int, Clip]], audio: NDArray[np.int16], table: Pronunciations
    ) -> list[tuple[float, Alignment | None]]:
        """(cost, alignment) of some clips of about one length, given with their numbers."""
        told = [states([numbered(word, table[word], self._number) for word in clip.words]) for _, clip in clips]
        size = max(clip.size for _, clip in clips) + WINDOW
        samples = np.zeros((len(clips), size), np.float32)
        for row, (_, clip) in zip(samples, clips, strict=True):
            row[: clip.size] = audio[clip.start : clip.start + clip.size]
        x = torch.from_numpy(samples).to(self._device)
        with torch.no_grad():
            features = self._cepstra(x + 2.0 * torch.randn_like(x))
            scores = self._network(padded(features))[: -(-features.shape[1] // SUBSAMPLING)]
        frames = [min(len(scores), 1 + clip.size // (SUBSAMPLING * STEP)) for _, clip in clips]
        found = best_paths(scores.float(), frames, told)
        return [
            (path.cost, alignment(number, each, path, many, self._names))
            for (number, _), each, path, many in zip(clips, told, found, frames, strict=True)
        ]


def realign(
    clips: Sequence[Clip], audio: NDArray[np.int16], aligner: NetworkAligner, table: Pronunciations,
    out: Path,
) -> int:  # fmt: skip
    """Write `out` (alignment.jsonl) for all clips; returns how many were left out: worst fits and over-long phones."""
    order = sorted(range(len(clips)), key=lambda number: clips[number].size)
    found: list[tuple[float, Alignment | None]] = []
    for begin in range(0, len(order), GROUP):
        found += aligner.align([(n, clips[n]) for n in order[begin : begin + GROUP]], audio, table)
        if begin // GROUP % 50 == 49:
            print(f"{begin + GROUP} of {len(order)} aligned", file=sys.stderr, flush=True)
    costs = [cost for cost, each in found if each is not None]
    limit = float(np.quantile(costs, 1.0 - WORST)) if costs else 0.0
    kept = [each for cost, each in found if each is not None and cost <= limit]
    with out.open("w", encoding="utf-8") as lines:
        for each in sorted(kept, key=lambda one: one.clip):
            print(json.dumps(asdict(each)), file=lines)
    return len(clips) - len(kept)
