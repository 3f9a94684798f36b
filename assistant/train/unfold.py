"""A network read back from a packed file -> one that training can go on from: its batch norms made anew.

`pack` folds batch norms away. Here each gets the mean and the spread of what it hears now, and what was added to the
biases is taken off again: the scores stay what they are, and training finds its channels as large as it left them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import torch
from torch import Tensor, nn

from assistant.speech.layout import BYPASS, EPSILON, STEPS
from assistant.train.network import Network

DEAD = 0.3
"""A channel that varies less hardly speaks: its norm must not make it loud, so what feeds it is made small."""
Padded = Sequence[Tensor]
"""Cepstra as `network.padded` gives them, of sound like that which training will go on with."""


@dataclass
class _Heard:
    """What one batch norm heard."""

    count: int = 0
    total: Tensor = field(default_factory=lambda: torch.zeros(()))
    squares: Tensor = field(default_factory=lambda: torch.zeros(()))

    def __call__(self, _: nn.Module, inputs: tuple[Tensor, ...]) -> None:
        x = inputs[0].double()
        self.count += len(x)
        self.total, self.squares = self.total.to(x) + x.sum(0), self.squares.to(x) + x.square().sum(0)

    def measures(self) -> tuple[Tensor, Tensor]:
        """Mean and variance of each channel."""
        mean = self.total / self.count
        return mean.float(), (self.squares / self.count - mean.square()).clamp_min(0).float()


@torch.no_grad()
def unfold(network: Network, heard: Padded) -> None:
    """Change `network` (as `unpack` reads it) in place; its scores stay the same, to the precision of floats."""
    found = _measured(network, heard)
    _inputs(network, torch.cat([each.flatten(0, 1) for each in heard]))
    offset = _norm(network.first_norm, network.first, *found[0])
    for layer, step, measures in zip(network.layers, STEPS, found[1:-1], strict=True):
        taps = 2 if step else 1
        carried = (layer.linear.weight @ offset.repeat(taps)).repeat(taps)
        layer.affine.bias += layer.affine.weight @ carried
        offset = BYPASS * offset + _norm(layer.norm, layer.affine, *measures)
    network.last.bias += network.last.weight @ (network.last_linear.weight @ offset)
    network.output.bias += network.output.weight @ _norm(network.last_norm, network.last, *found[-1])


def _measured(network: Network, heard: Padded) -> list[tuple[Tensor, Tensor]]:
    """Mean and variance before each norm, in the order of the network."""
    norms = [part for part in network.modules() if isinstance(part, nn.BatchNorm1d)]
    told = [_Heard() for _ in norms]
    hooks = [norm.register_forward_pre_hook(each) for norm, each in zip(norms, told, strict=True)]
    network.eval()
    for each in heard:
        network(each)
    for hook in hooks:
        hook.remove()
    return [each.measures() for each in told]


def _inputs(network: Network, cepstra: Tensor) -> None:
    network.adapt(cepstra)
    weight, spread = network.first.weight, network.scale.repeat(3)
    network.first.bias += weight @ network.mean.repeat(3)
    weight /= spread


def _norm(norm: nn.BatchNorm1d, before: nn.Linear, mean: Tensor, variance: Tensor) -> Tensor:
    """Give the norm its measures; returns what it takes off now that was not taken off before."""
    small = torch.where(variance < DEAD, (EPSILON / (1 - variance).clamp_min(EPSILON)).sqrt(), 1.0)
    before.weight *= small[:, None]
    before.bias *= small
    norm.running_mean.copy_(mean * small)
    norm.running_var.copy_(small.square() - EPSILON)
    return mean
