"""The acoustic network: a factored time-delay network with batch norms, scores for every third frame.

Layer k looks `step` frames back in a narrow linear part and `step` frames ahead in a wide one (Povey et al. 2018,
'Semi-orthogonal low-rank matrix factorization'; the orthogonality constraint is left out, batch norm does the work).
Time comes first in all tensors: [frames, clips, channels].
"""

from dataclasses import dataclass

import torch
import torch.nn.functional as F
from torch import Tensor, nn

from assistant.speech.layout import BYPASS, CONTEXT, EPSILON, STEPS, SUBSAMPLING, THIN_BEFORE


@dataclass(frozen=True)
class Size:
    """Widths of the network."""

    outputs: int = 80
    """Two per phone: its first frame and the others."""
    inputs: int = 40
    wide: int = 768
    narrow: int = 64


class Factored(nn.Module):
    """Linear to few channels, affine back to many, rectifier, batch norm, bypass."""

    def __init__(self, size: Size, step: int) -> None:
        super().__init__()
        taps = 2 if step else 1
        self.step = step
        self.linear = nn.Linear(size.wide * taps, size.narrow, bias=False)
        self.affine = nn.Linear(size.narrow * taps, size.wide)
        self.norm = nn.BatchNorm1d(size.wide, EPSILON, affine=False)

    def forward(self, x: Tensor, stride: int, dropout: float) -> Tensor:
        """[frames, clips, wide] -> [frames - 2 step / stride, clips, wide]; `stride`: frames between rows."""
        shift = self.step // stride
        if shift:
            y = self.linear(torch.cat([x[:-shift], x[shift:]], -1))
            y = self.affine(torch.cat([y[:-shift], y[shift:]], -1))
            x = x[shift:-shift]
        else:
            y = self.affine(self.linear(x))
        y = normed(self.norm, F.relu(y))
        if self.training and dropout > 0.0:
            y = y * (1.0 + dropout * (2.0 * torch.rand(1, *y.shape[1:], device=y.device, dtype=y.dtype) - 1.0))
        return BYPASS * x + y


class Network(nn.Module):
    """Cepstra -> log scores of the outputs."""

    mean: Tensor
    scale: Tensor

    def __init__(self, size: Size | None = None) -> None:
        super().__init__()
        self.size = size or Size()
        wide = self.size.wide
        self.dropout = 0.0
        self.first = nn.Linear(3 * self.size.inputs, wide)
        self.first_norm = nn.BatchNorm1d(wide, EPSILON, affine=False)
        self.layers = nn.ModuleList(Factored(self.size, step) for step in STEPS)
        self.last_linear = nn.Linear(wide, self.size.narrow, bias=False)
        self.last = nn.Linear(self.size.narrow, wide)
        self.last_norm = nn.BatchNorm1d(wide, EPSILON, affine=False)
        self.output = nn.Linear(wide, self.size.outputs)
        self.register_buffer("mean", torch.zeros(self.size.inputs))
        self.register_buffer("scale", torch.ones(self.size.inputs))
        for part in self.modules():
            if isinstance(part, nn.Linear):
                nn.init.normal_(part.weight, std=part.in_features**-0.5)
                if part.bias is not None:
                    nn.init.zeros_(part.bias)
        nn.init.normal_(self.output.weight, std=0.1 * wide**-0.5)

    def adapt(self, cepstra: Tensor) -> None:
        """Take mean and spread of the inputs from [..., 40] once, before training."""
        flat = cepstra.reshape(-1, cepstra.shape[-1])
        self.mean.copy_(flat.mean(0))
        self.scale.copy_(1.0 / flat.std(0))

    def forward(self, cepstra: Tensor) -> Tensor:
        """[frames + 2 CONTEXT, clips, 40] -> [ceil(frames / 3), clips, outputs]."""
        x = (cepstra - self.mean) * self.scale
        x = normed(self.first_norm, F.relu(self.first(torch.cat([x[:-2], x[1:-1], x[2:]], -1))))
        for place, layer in enumerate(self.layers):
            if place == THIN_BEFORE:
                x = x[::SUBSAMPLING]
            x = layer(x, SUBSAMPLING if place >= THIN_BEFORE else 1, self.dropout)
        x = normed(self.last_norm, F.relu(self.last(self.last_linear(x))))
        scores: Tensor = self.output(x)
        return scores


def normed(norm: nn.Module, x: Tensor) -> Tensor:
    """Batch norm over all but the last axis."""
    flat: Tensor = norm(x.reshape(-1, x.shape[-1]))
    return flat.view(x.shape)


def padded(cepstra: Tensor) -> Tensor:
    """[clips, frames, 40] -> [frames + 2 CONTEXT (+ 0 to 2), clips, 40]: edges repeated, as the recogniser does."""
    frames = cepstra.shape[1]
    extra = -frames % SUBSAMPLING
    before, after = cepstra[:, :1].expand(-1, CONTEXT, -1), cepstra[:, -1:].expand(-1, CONTEXT + extra, -1)
    return torch.cat([before, cepstra, after], 1).transpose(0, 1).contiguous()
