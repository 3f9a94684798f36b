"""Mel-frequency cepstra, equal to Kaldi's to 0.01, for whole batches on any device.

25 ms windows every 10 ms, 'povey' window, 40 mel bands from 20 to 7600 Hz, 40 cepstra, lifter 22, pre-emphasis 0.97,
no dither, no energy. Definition: Kaldi's compute-mfcc-feats as documented by the Kaldi project.
"""

import math

import numpy as np
import torch
from torch import Tensor, nn

from assistant.ports import RATE

WINDOW, STEP, TRANSFORM = 400, 160, 512
"""Samples per window, between windows, and of the Fourier transform."""
BANDS = 40
LOWEST, HIGHEST = 20.0, 7600.0
"""Hz."""
WARPS = (0.89, 1.12, 13)
"""Smallest and largest factor on the frequencies, and how many between: formants moved without pitch or tempo."""
FLOOR = 2.0**-23
"""Smallest band energy, as in Kaldi: the step of 32-bit numbers at 1."""


def _mel(hertz: float | np.ndarray) -> np.ndarray:
    return np.asarray(1127.0 * np.log(1.0 + np.asarray(hertz) / 700.0))


def _bands(warp: float = 1.0) -> np.ndarray:
    """Triangles over the bins: [TRANSFORM / 2 + 1, BANDS]; `warp` moves all frequencies, as another throat would."""
    edges = np.linspace(float(_mel(LOWEST)), float(_mel(HIGHEST)), BANDS + 2)
    bins = _mel(np.arange(TRANSFORM // 2 + 1) * RATE / TRANSFORM * warp)[:, None]
    left, centre, right = edges[:-2], edges[1:-1], edges[2:]
    rising, falling = (bins - left) / (centre - left), (right - bins) / (right - centre)
    weights = np.clip(np.minimum(rising, falling), 0.0, None)
    weights[-1] = 0.0
    return weights


def _cosines() -> np.ndarray:
    """Log bands -> liftered cepstra: [BANDS, BANDS]."""
    order, band = np.arange(BANDS)[:, None], np.arange(BANDS)[None]
    table = math.sqrt(2.0 / BANDS) * np.cos(math.pi / BANDS * (band + 0.5) * order)
    table[0] = math.sqrt(1.0 / BANDS)
    return np.asarray((table * (1.0 + 11.0 * np.sin(math.pi * order / 22.0))).T)


class Cepstra(nn.Module):
    """Samples -> cepstra."""

    window: Tensor
    bands: Tensor
    warped: Tensor
    cosines: Tensor

    def __init__(self) -> None:
        super().__init__()
        place = torch.arange(WINDOW, dtype=torch.float64)
        hann = 0.5 - 0.5 * torch.cos(2.0 * math.pi * place / (WINDOW - 1))
        self.register_buffer("window", (hann**0.85).float())
        self.register_buffer("bands", torch.tensor(_bands(), dtype=torch.float32))
        warped = np.stack([_bands(each) for each in np.linspace(*WARPS)])
        self.register_buffer("warped", torch.tensor(warped, dtype=torch.float32))
        self.register_buffer("cosines", torch.tensor(_cosines(), dtype=torch.float32))

    def forward(self, samples: Tensor, hide: float = 0.0, *, warp: bool = False) -> Tensor:
        """[clips, samples] at 16-bit scale -> [clips, frames, 40]; frames = (samples - 400) // 160 + 1.

        `hide`: share of clips that lose a few bands and a stretch of time (training only);
        `warp`: give each clip a random throat (training only).
        """
        frames = samples.unfold(1, WINDOW, STEP)
        frames = frames - frames.mean(-1, keepdim=True)
        first, rest = frames[..., :1] * 0.03, frames[..., 1:] - 0.97 * frames[..., :-1]
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
