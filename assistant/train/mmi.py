"""Lattice-free maximum mutual information for utterances (Povey et al. 2016), by plain autograd.

Every state has two outputs: 2 p for the first frame of phone p, 2 p + 1 for the others. The numerator is the chain of
the words said, with optional silence around each; the denominator is any sequence of vocabulary words, other words (a
bigram of phones) and silence. Both return log likelihoods [clips].
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise

import torch
from torch import Tensor, nn

from assistant.train.clips import Batch
from assistant.train.cross_entropy import framewise
from assistant.train.loop import scored
from assistant.train.network import Network

TINY = 1e-30
PAUSE = 0.3
"""Probability of a silence between two words."""
KNOWN = 0.6
"""Probability that a word comes from the vocabulary."""

Pronunciations = Mapping[str, Sequence[tuple[int, ...]]]


def likelihoods(scores: Tensor) -> tuple[Tensor, Tensor]:
    """[frames, clips, outputs] log scores -> (exp of them with maximum 1 a frame, [clips] what was taken off)."""
    peak = scores.detach().max(-1, keepdim=True)[0]
    return (scores - peak).clamp_min(-30.0).exp(), peak[..., 0].sum(0)


class Denominator(nn.Module):
    """All that could have been said."""

    first: Tensor
    rest: Tensor
    inner: Tensor
    ends: Tensor
    entry: Tensor
    bigram: Tensor

    def __init__(
        self, words: Pronunciations, counts: Mapping[str, int], others: Iterable[tuple[int, ...]], phones: int = 40
    ) -> None:
        """`words`: the vocabulary; `counts`: how often each is said; `others`: pronunciations of any other words."""
        super().__init__()
        total = sum(counts.get(word, 0) + 1 for word in words)
        states: list[tuple[int, bool, bool, float]] = []
        for word, spoken in words.items():
            share = KNOWN * (counts.get(word, 0) + 1) / total / len(spoken)
            for phones_ in spoken:
                last = len(phones_) - 1
                states += [(p, k > 0, k == last, share if k == 0 else 0.0) for k, p in enumerate(phones_)]
        self.chain = len(states)
        start, follow, stop = _bigram(others, phones)
        of = [p for p, *_ in states] + list(range(1, phones)) + [0]
        self.register_buffer("first", torch.tensor(of) * 2)
        self.register_buffer("rest", torch.tensor(of) * 2 + 1)
        self.register_buffer("inner", torch.tensor([float(inside) for _, inside, _, _ in states]))
        self.register_buffer("ends", torch.cat([torch.tensor([float(end) for _, _, end, _ in states]), stop]))
        self.register_buffer("entry", torch.cat([torch.tensor([each[3] for each in states]), (1 - KNOWN) * start]))
        self.register_buffer("bigram", follow)

    def forward(self, likelihood: Tensor) -> Tensor:
        """[frames, clips, outputs] (see `likelihoods`) -> [clips]."""
        first, rest = likelihood[..., self.first], likelihood[..., self.rest]
        hub = torch.ones_like(first[0, :, :1])
        alpha = torch.cat([hub * (1 - PAUSE) * self.entry, hub * PAUSE], 1) * first[0]
        total = torch.zeros_like(hub[:, 0])
        for frame in range(len(likelihood)):
            if frame:
                words, others = alpha[:, : self.chain], alpha[:, self.chain : -1]
                end = (alpha[:, :-1] * self.ends).sum(1, keepdim=True)
                hub = end * (1 - PAUSE) + alpha[:, -1:]
                inner = torch.cat([torch.zeros_like(hub), words[:, :-1]], 1) * self.inner
                into = torch.cat([torch.cat([inner, others @ self.bigram], 1) + hub * self.entry, end * PAUSE], 1)
                alpha = alpha * rest[frame] + into * first[frame]
            mass = alpha.sum(1, keepdim=True) + TINY
            alpha, total = alpha / mass, total + mass[:, 0].log()
        return total + ((alpha[:, :-1] * self.ends).sum(1) + alpha[:, -1] + TINY).log()


def _bigram(words: Iterable[tuple[int, ...]], phones: int) -> tuple[Tensor, Tensor, Tensor]:
    """Phone statistics of words, smoothed: first [p], following [p, p], last [p]; silence (0) left out."""
    start, stop, follow, seen = Counter[int](), Counter[int](), Counter[tuple[int, int]](), Counter[int]()
    for word in words:
        start[word[0]] += 1
        stop[word[-1]] += 1
        seen.update(word)
        follow.update(pairwise(word))
    places = range(1, phones)
    first = torch.tensor([start[p] + 0.5 for p in places])
    last = torch.tensor([(stop[p] + 0.5) / (seen[p] + 2.0) for p in places])
    table = torch.tensor([[follow[p, q] + 0.05 for q in places] for p in places])
    return first / first.sum(), table / table.sum(1, keepdim=True) * (1 - last[:, None]), last


def numerator(likelihood: Tensor, phones: Tensor, length: Tensor) -> Tensor:
    """Chains said: `phones` [clips, longest], `length` [clips]; a chain begins and ends with a silence (0) and has one
    between words; every silence may be left out. -> [clips]
    """
    frames, clips, _ = likelihood.shape
    longest = phones.shape[1]
    place = torch.arange(longest, device=phones.device)[None]
    index = (2 * phones)[None].expand(frames, -1, -1)
    first, rest = likelihood.gather(2, index), likelihood.gather(2, index + 1)
    inside = (place < length[:, None]).float()
    skips = torch.cat([torch.zeros_like(phones[:, :1]), phones[:, :-1]], 1).eq(0).float() * (place >= 2)
    final = ((place == length[:, None] - 1) | ((place == length[:, None] - 2) & (length[:, None] > 1))).float()
    begin = ((place == 0) | ((place == 1) & (length[:, None] > 1))).float()
    alpha = begin * first[0] * inside
    total = torch.zeros(clips, device=phones.device)
    nothing = torch.zeros_like(alpha[:, :2])
    for frame in range(frames):
        if frame:
            from_last = torch.cat([nothing[:, :1], alpha[:, :-1]], 1)
            over_silence = torch.cat([nothing, alpha[:, :-2]], 1)[:, :longest] * skips
            alpha = (alpha * rest[frame] + (from_last + over_silence) * first[frame]) * inside
        mass = alpha.sum(1, keepdim=True) + TINY
        alpha, total = alpha / mass, total + mass[:, 0].log()
    return total + ((alpha * final).sum(1) + TINY).log()


CROSS_ENTROPY = 0.1
"""Weight of the frame-wise objective beside this one."""
SQUARES = 2e-4
"""Weight of the squared scores, which keeps them small."""
IMPOSSIBLE = 4.0
"""Clips that cost more than this a frame are left out: wrong text, or too fast."""


class Mmi:
    """The objective: what was said against all that could have been said."""

    def __init__(self, denominator: Denominator) -> None:
        self.denominator = denominator
        self._graphs: dict[int, Callable[..., Tensor]] = {}

    def _both(self, scores: Tensor, chain: Tensor, size: Tensor) -> Tensor:
        """[2, clips] log likelihoods: said, anything."""
        likelihood, _ = likelihoods(scores)
        return torch.stack([numerator(likelihood, chain, size), self.denominator(likelihood)])

    def _run(self, scores: Tensor, chain: Tensor, size: Tensor) -> Tensor:
        """On a GPU the thousands of small steps are recorded once per shape and replayed."""
        if not scores.is_cuda:
            return self._both(scores, chain, size)
        if len(scores) not in self._graphs:
            sample = (scores.detach().clone().requires_grad_(), chain, size)
            self._graphs[len(scores)] = torch.cuda.make_graphed_callables(self._both, sample)
        return self._graphs[len(scores)](scores, chain, size)

    def __call__(self, network: Network, batch: Batch) -> tuple[Tensor, dict[str, float | Tensor]]:
        """See `loop.Objective`."""
        scores = scored(network, batch)
        said, anything = self._run(scores, batch.chain, batch.chain_size)
        cost = (anything - said) / len(scores)
        usable = torch.isfinite(cost) & (cost < IMPOSSIBLE)
        loss = torch.where(usable, cost, 0.0).sum() / usable.sum().clamp_min(1)
        frames = framewise(scores, batch)
        total = loss + CROSS_ENTROPY * frames + SQUARES * scores.square().mean()
        return total, {"mmi": loss.detach(), "ce": frames.detach(), "used": usable.float().mean()}
