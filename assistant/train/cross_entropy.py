"""First objective: the aligned output of every frame."""

import torch
import torch.nn.functional as F
from torch import Tensor

from assistant.train.clips import Batch
from assistant.train.loop import scored
from assistant.train.network import Network

SILENCE_WEIGHT = 0.3
"""Of a frame of silence; one of a phone counts 1."""
PRIOR_POWER = 0.7
"""Share of the log prior that is taken off the scores, so that they act like likelihoods."""
RAREST = 9.0
"""Log priors are not taken below the largest minus this."""


def framewise(scores: Tensor, batch: Batch) -> Tensor:
    """Weighted cross entropy over the aligned clips."""
    losses = F.cross_entropy(scores.flatten(0, 1), batch.labels.flatten(), reduction="none").view(batch.labels.shape)
    weight = torch.where(batch.labels < 2, SILENCE_WEIGHT, 1.0) * batch.aligned
    return (losses * weight).sum() / weight.sum().clamp_min(1.0)


class CrossEntropy:
    """The objective; counts the outputs it sees."""

    def __init__(self, outputs: int, device: torch.device) -> None:
        self.seen = torch.ones(outputs, device=device)

    def __call__(self, network: Network, batch: Batch) -> tuple[Tensor, dict[str, float | Tensor]]:
        """See `loop.Objective`."""
        scores = scored(network, batch)
        loss = framewise(scores, batch)
        counted = batch.aligned.float().expand(batch.labels.shape)
        self.seen.index_add_(0, batch.labels.flatten(), counted.flatten())  # bincount would make the GPU wait
        right = scores.detach().argmax(-1) // 2 == batch.labels // 2
        speech = (batch.labels > 1) & batch.aligned
        return loss, {"loss": loss.detach(), "phone frames right": (right & speech).sum() / speech.sum().clamp_min(1)}

    @torch.no_grad()
    def fold_prior(self, network: Network) -> None:
        """Divide the network's posteriors by the priors to the power of PRIOR_POWER, once."""
        prior = (self.seen / self.seen.sum()).log()
        network.output.bias -= PRIOR_POWER * prior.clamp_min(float(prior.max()) - RAREST)
