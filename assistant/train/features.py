"""Mel-frequency cepstra as assistant/speech/cepstra.py makes them, for whole batches on any device."""

import numpy as np
import torch
from torch import Tensor, nn

from assistant.speech.cepstra import (
    EMPHASIS,
    FLOOR,
    STEP,
    TRANSFORM,
    WINDOW,
    bands,
    cosines,
    povey,
)

WARPS = (0.89, 1.12, 13)
"""Smallest and largest factor on the frequencies, and how many between: formants moved without pitch or tempo."""


class Cepstra(nn.Module):
    """Samples -> cepstra."""

    window: Tensor
    bands: Tensor
    warped: Tensor
    cosines: Tensor

    def __init__(self) -> None:
        super().__init__()
        warped = np.stack([bands(each) for each in np.linspace(*WARPS)])
        tables = {"window": povey(), "bands": bands(), "warped": warped, "cosines": cosines()}
        for name, values in tables.items():
            self.register_buffer(name, torch.tensor(values, dtype=torch.float32))

    def forward(self, samples: Tensor, hide: float = 0.0, *, warp: bool = False) -> Tensor:
        """[clips, samples] at 16-bit scale -> [clips, frames, 40]; frames = (samples - 400) // 160 + 1.

        `hide`: share of clips that lose a few bands and a stretch of time (training only);
        `warp`: give each clip a random throat (training only).
        """
        frames = samples.unfold(1, WINDOW, STEP)
        frames = frames - frames.mean(-1, keepdim=True)
        first, rest = frames[..., :1] * (1 - EMPHASIS), frames[..., 1:] - EMPHASIS * frames[..., :-1]
        spectrum = torch.fft.rfft(torch.cat([first, rest], -1) * self.window, TRANSFORM)
        power = spectrum.real.square() + spectrum.imag.square()
        throat = torch.randint(len(self.warped), (len(samples),), device=samples.device)
        energy = torch.bmm(power, self.warped[throat]) if warp else power @ self.bands
        logs = energy.clamp_min(FLOOR).log()
        return (_hidden(logs, hide) if hide else logs) @ self.cosines


def _hidden(logs: Tensor, share: float) -> Tensor:
    """Replace up to 6 bands and up to 15 frames by the clip's mean in `share` of the clips."""
    mean = logs.mean(1, keepdim=True)
    for axis, widest in ((2, 6.0), (1, 15.0)):
        draw = torch.rand(3, len(logs), 1, 1, device=logs.device)
        size = logs.shape[axis]
        start, width = draw[0] * size, draw[1] * widest * (draw[2] < share)
        place = torch.arange(size, device=logs.device).view((1, 1, -1) if axis == 2 else (1, -1, 1))
        logs = torch.where((place >= start) & (place < start + width), mean, logs)
    return logs
