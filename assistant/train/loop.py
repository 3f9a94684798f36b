"""The training loop: one schedule for both objectives, averaged weights, fresh batch-norm statistics at the end."""

import math
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

import torch
from torch import Tensor

from assistant.train.clips import Batch, Batches
from assistant.train.network import Network

Snapshot = Callable[[int, Network], None]
"""(steps, network with its averaged weights); must not change the network."""
Objective = Callable[[Network, Batch], tuple[Tensor, dict[str, float | Tensor]]]
"""(network, batch) -> the loss to go down, and figures to print."""


@dataclass(frozen=True)
class Schedule:
    """How long and how fast."""

    seconds: float
    """Wall time."""
    rate: float
    """Highest learning rate, reached after `warm_up` steps; then half a cosine down to 2 % of it."""
    warm_up: int = 100
    decay: float = 1e-3
    """Weight decay."""
    clip: float = 1.0
    """Largest norm of the gradient."""
    averaging: float = 0.998
    """Share of the old in the running average of the weights."""
    every: int = 50
    """Steps between lines of the log."""
    steps: int = 0
    """Where not 0: stop after so many, `seconds` is then not looked at."""
    snapshot: int = 0
    """Where not 0: steps between snapshots."""


def train(
    network: Network, batches: Batches, objective: Objective, schedule: Schedule, keep: Snapshot | None = None
) -> int:
    """Train in place; the network ends with its averaged weights. Returns the number of steps."""
    cuda = next(network.parameters()).is_cuda
    optimiser = torch.optim.AdamW(
        network.parameters(), lr=schedule.rate, betas=(0.9, 0.98), weight_decay=schedule.decay, fused=cuda
    )
    average = [each.detach().clone() for each in network.parameters()]
    begin, step, shown = time.monotonic(), 0, dict[str, float]()
    while (done := _done(schedule, step, time.monotonic() - begin)) < 1.0:
        for group in optimiser.param_groups:
            group["lr"] = schedule.rate * min(1.0, (step + 1) / schedule.warm_up) * _cosine(done)
        network.train()
        loss, figures = objective(network, batches.draw())
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        for each in network.parameters():
            each.grad.nan_to_num_(0.0, 0.0, 0.0)  # asking whether any is infinite would make the GPU wait
        torch.nn.utils.clip_grad_norm_(network.parameters(), schedule.clip)
        optimiser.step()
        share = min(schedule.averaging, step / (step + 20.0))
        with torch.no_grad():
            torch._foreach_lerp_(average, [each.detach() for each in network.parameters()], 1.0 - share)
        step += 1
        if step % schedule.every == 0:
            for name, value in figures.items():
                shown[name] = 0.7 * shown.get(name, float(value)) + 0.3 * float(value)
            _log(step, time.monotonic() - begin, shown)
        if keep and schedule.snapshot and step % schedule.snapshot == 0:
            mine = [each.detach().clone() for each in network.parameters()]
            _take(network, average, batches)
            keep(step, network)
            _take(network, mine, batches, rounds=0)
    _take(network, average, batches)
    return step


def _done(schedule: Schedule, step: int, seconds: float) -> float:
    return step / schedule.steps if schedule.steps else seconds / schedule.seconds


def _take(network: Network, weights: list[Tensor], batches: Batches, rounds: int = 40) -> None:
    with torch.no_grad():
        for mine, other in zip(network.parameters(), weights, strict=True):
            mine.copy_(other)
    if rounds:
        refresh(network, batches, rounds)


def _cosine(done: float) -> float:
    return 0.5 * (1.0 + math.cos(math.pi * done)) * 0.98 + 0.02


def _log(step: int, seconds: float, figures: dict[str, float]) -> None:
    told = " ".join(f"{name} {value:.4f}" for name, value in figures.items())
    print(f"{step} steps {seconds:.0f} s {told}", file=sys.stderr, flush=True)


@torch.no_grad()
def refresh(network: Network, batches: Batches, rounds: int = 40) -> None:
    """Batch-norm statistics of the weights as they are now."""
    network.train()
    norms = [part for part in network.modules() if isinstance(part, torch.nn.BatchNorm1d)]
    dropout, network.dropout = network.dropout, 0.0
    for number in range(rounds):
        for norm in norms:
            norm.momentum = 1.0 / (number + 1)
        scored(network, batches.draw())
    for norm in norms:
        norm.momentum = 0.1
    network.dropout = dropout
    network.eval()


def scored(network: Network, batch: Batch) -> Tensor:
    """[frames, clips, outputs] in 32 bits; the network itself runs in bfloat16."""
    with torch.autocast(batch.cepstra.device.type, dtype=torch.bfloat16):
        scores: Tensor = network(batch.cepstra)
    return scores[: batch.frames].float()
