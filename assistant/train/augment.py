"""Speech as it sounds on a building site: rooms, microphones, noise and level, for whole batches on any device.

Everything is [clips, samples] at 16 kHz. Noise and rooms are made once (`Bank`) and cut at random places.
"""

import math
from dataclasses import dataclass

import torch
import torch.nn.functional as F
from torch import Tensor

from assistant.ports import RATE

ROW = 10 * RATE
"""Samples in a row of noise."""
TRANSFORM = 512
NARROW, SLOPE = (3300.0, 3800.0), 150.0
"""Hertz: where a narrow band begins to end, drawn for each clip, and how far on nothing is left."""
EARLY = 0.5
"""Of the narrow or gated clips lose their highs, or what is soft, before noise comes to them."""
GATE_STEP = RATE // 100
"""Samples that a noise gate takes the loudness of."""
GATE_DB = (-30.0, -8.0)
"""Below this, against the speaking part, a gate shuts; drawn for each clip."""
GATE_HOLD = (1, 3, 8, 20)
"""Steps that a gate stays open after the last loud one."""
THROAT = 40
"""Cepstra of `TRANSFORM` bins that describe the throat; beyond them is the voice: 2.5 ms, a pitch of 400 Hz."""


@dataclass(frozen=True)
class Levels:
    """How much of everything."""

    quietest_noise: float = 25.0
    loudest_noise: float = -1.0
    """Signal to noise over the speaking part, dB."""
    clean_share: float = 0.18
    """Of the clips, at 30 to 60 dB."""
    reverberant_share: float = 0.55
    equaliser: float = 5.0
    """Largest spread of the frequency response, dB."""
    whispered_share: float = 0.2
    """Of a batch."""
    narrow_share: float = 0.2
    """Of the clips have no highs, as from a headset that sends 8,000 samples a second; half of them only the speech."""
    gated_share: float = 0.15
    """Of the clips lose what is soft, as behind a noise gate; half of them only the speech."""


def uniform(clips: int, low: float, high: float, device: torch.device) -> Tensor:
    """[clips, 1] random numbers."""
    return torch.rand(clips, 1, device=device) * (high - low) + low


def unit(x: Tensor) -> Tensor:
    """Each row at standard deviation 1."""
    return x / x.std(1, keepdim=True).clamp_min(1e-6)


def _transform_size(samples: int) -> int:
    return 1 << (samples - 1).bit_length()


def _slow(clips: int, knots: int, samples: int, device: torch.device) -> Tensor:
    knots_ = torch.randn(clips, 1, knots, device=device)
    return F.interpolate(knots_, samples, mode="linear", align_corners=True)[:, 0]


def coloured(clips: int, samples: int, device: torch.device) -> Tensor:
    """White to brown noise (pink in the middle), with up to two broad resonances, half of it swelling."""
    size = _transform_size(samples)
    spectrum = torch.fft.rfft(torch.randn(clips, size, device=device))
    kilohertz = torch.linspace(0, 8, spectrum.shape[1], device=device)[None] + 0.03
    shape = kilohertz ** (-uniform(clips, -0.1, 1.2, device))
    for _ in range(2):
        centre, width = uniform(clips, 0, 7, device), uniform(clips, 0.1, 1.6, device)
        shape = shape * (1 + uniform(clips, 0, 3, device) * torch.exp(-(((kilohertz - centre) / width) ** 2)))
    noise = torch.fft.irfft(spectrum * shape, size)[:, :samples]
    swell = uniform(clips, 0, 1.0, device) * (torch.rand(clips, 1, device=device) < 0.5)
    return unit(noise * torch.exp(swell * _slow(clips, 20, samples, device)))


def motor(clips: int, samples: int, device: torch.device) -> Tensor:
    """A running machine: harmonics of a wandering rotation over broadband noise."""
    turn = 25.0 * 10 ** uniform(clips, 0, 1, device)
    phase = 2 * math.pi * torch.cumsum(turn * (1 + 0.03 * _slow(clips, 8, samples, device)) / RATE, 1)
    slope, tone = uniform(clips, 0.2, 1.4, device), torch.zeros(clips, samples, device=device)
    for harmonic in range(1, 25):
        strength = torch.exp(0.8 * torch.randn(clips, 1, device=device)) * harmonic ** (-slope)
        start = 6.28 * torch.rand(clips, 1, device=device)
        tone += strength * torch.sin(harmonic * phase + start) * (turn * harmonic < 7500)
    return unit(unit(tone) + uniform(clips, 0.05, 1.0, device) * coloured(clips, samples, device))


def hammer(clips: int, samples: int, device: torch.device) -> Tensor:
    """Blows at irregular times, each a short ringing burst."""
    blows = (torch.rand(clips, samples, device=device) < uniform(clips, 0.5, 5, device) / RATE).float()
    blows = blows * torch.exp(0.5 * torch.randn(clips, samples, device=device))
    seconds = torch.arange(3200, device=device)[None] / RATE
    ring = torch.sin(2 * math.pi * uniform(clips, 150, 3500, device) * seconds)
    burst = torch.randn(clips, 3200, device=device) * uniform(clips, 0.2, 1, device) + ring
    noise = convolved(blows, burst * torch.exp(-seconds / uniform(clips, 0.004, 0.05, device)))
    return unit(noise + 0.01 * torch.randn(clips, samples, device=device))


def whispered(x: Tensor) -> Tensor:
    """The same words without a voice: each spectrum's envelope on noise, weak in the lows; some voice may remain.

    As in whispers people were measured in, the lower formants lie higher and vowels stand out less from consonants
    (from memory; the ranges are drawn per clip).
    """
    clips, samples = x.shape
    window = torch.hann_window(TRANSFORM, device=x.device)

    def spectra(sound: Tensor) -> Tensor:
        return torch.stft(sound, TRANSFORM, TRANSFORM // 4, window=window, return_complex=True)

    cepstra = torch.fft.irfft(spectra(x).abs().clamp_min(1.0).log(), dim=1)
    cepstra[:, THROAT : TRANSFORM - THROAT + 1] = 0.0
    envelope = _raised(torch.fft.rfft(cepstra, dim=1).real.exp(), uniform(clips, 0, 0.25, x.device))
    energy = envelope.square().sum(1, keepdim=True)
    evened = (energy / energy.mean(2, keepdim=True)).clamp_min(0.03) ** (-uniform(clips, 0, 0.2, x.device)[..., None])
    hertz = torch.linspace(0, RATE / 2, envelope.shape[1], device=x.device)[None, :, None]
    envelope = envelope * evened * hertz / (hertz + uniform(clips, 100, 1500, x.device)[..., None])
    noise = torch.istft(
        envelope * spectra(torch.randn_like(x)), TRANSFORM, TRANSFORM // 4, window=window, length=samples
    )
    voice = uniform(clips, 0, 0.5, x.device) * (torch.rand(clips, 1, device=x.device) < 0.5)
    power = [each.square().sum(1, keepdim=True).clamp_min(1.0) for each in (x, noise)]
    return (1 - voice) * noise * (power[0] / power[1]).sqrt() + voice * x


def _raised(envelope: Tensor, most: Tensor) -> Tensor:
    """[clips, bins, frames] with its lows moved up: by the share `most` [clips, 1] at 0 Hz, by none from 4 kHz on."""
    bins = envelope.shape[1]
    place = torch.linspace(0, 1, bins, device=envelope.device)[None]
    source = place / (1 + most * (1 - 2 * place).clamp_min(0)) * (bins - 1)
    low = source.long().clamp_max(bins - 2)
    share = (source - low)[..., None]
    pick = [index[..., None].expand(-1, -1, envelope.shape[2]) for index in (low, low + 1)]
    return envelope.gather(1, pick[0]) * (1 - share) + envelope.gather(1, pick[1]) * share


def convolved(x: Tensor, response: Tensor) -> Tensor:
    """Row-wise convolution, cut to the length of `x`."""
    size = _transform_size(x.shape[1] + response.shape[1])
    return torch.fft.irfft(torch.fft.rfft(x, size) * torch.fft.rfft(response, size), size)[:, : x.shape[1]]


def rooms(count: int, device: torch.device) -> Tensor:
    """Room responses of 0.1 to 0.7 s: a direct sound, a few echoes and a decaying tail."""
    seconds = torch.arange(8000, device=device)[None] / RATE
    tail = torch.randn(count, 8000, device=device) * torch.exp(-6.9 * seconds / uniform(count, 0.1, 0.7, device))
    tail = tail * (seconds > uniform(count, 0.002, 0.02, device))
    early = (torch.rand(count, 8000, device=device) < 0.0015) * (seconds < 0.05) * (seconds > 0.001)
    tail = tail + early * torch.randn(count, 8000, device=device) * 3 * torch.exp(-seconds / 0.02)
    tail = tail / tail.square().sum(1, keepdim=True).sqrt().clamp_min(1e-6)
    tail = tail * 10 ** (-uniform(count, -2, 15, device) / 20)
    tail[:, 0] = 1.0
    return tail


class Bank:
    """Noise rows and rooms, made once."""

    def __init__(self, device: torch.device, recorded: list[Tensor], rows: int = 40, room_count: int = 400) -> None:
        """`recorded`: further families of noise (field recordings, other people's talk), each [rows, ROW]."""
        made = [torch.cat([make(8, ROW, device) for _ in range(rows // 8)]) for make in (coloured, motor, hammer)]
        self.families = [unit(each).half() for each in made + [each.to(device).float() for each in recorded]]
        self.rooms = rooms(room_count, device)
        share = torch.tensor([0.34, 0.22, 0.08, *[0.36 / max(1, len(recorded))] * len(recorded)])
        self._share = (share[: len(self.families)] / share[: len(self.families)].sum()).to(device)

    def cut(self, clips: int, samples: int) -> Tensor:
        """[clips, samples] of noise at deviation 1: one family, or two mixed."""
        device = self.rooms.device
        pick = torch.multinomial(self._share.expand(clips, -1), 2)
        second = uniform(clips, 0, 1, device) * (torch.rand(clips, 1, device=device) < 0.35)
        place = torch.arange(samples, device=device)[None]
        noise = torch.zeros(clips, samples, device=device)
        for number, family in enumerate(self.families):
            row = torch.randint(len(family), (clips, 1), device=device)
            start = torch.randint(ROW - samples, (clips, 1), device=device)
            weight = (pick[:, :1] == number) + second * (pick[:, 1:] == number)
            noise += weight * family.view(-1)[row * ROW + start + place].float()
        return unit(noise)


def _microphone(x: Tensor, spread: float) -> Tensor:
    """A random frequency response; three in ten are band-limited like a headset."""
    clips, samples = x.shape
    size = _transform_size(samples)
    spectrum = torch.fft.rfft(x, size)
    bins, device = spectrum.shape[1], x.device
    hertz = torch.linspace(0, 8000, bins, device=device)[None]
    bumps = torch.randn(clips, 1, 9, device=device) * uniform(clips, 0, spread, device)[..., None]
    gain = 10 ** (F.interpolate(bumps, bins, mode="linear", align_corners=True)[:, 0] / 20)
    upper, lower = uniform(clips, 3300, 7500, device), uniform(clips, 80, 320, device)
    gain = torch.where(torch.rand(clips, 1, device=device) < 0.3, gain / (1 + (hertz / upper) ** 24), gain)
    high_pass = (hertz / lower) ** 2 / (1 + (hertz / lower) ** 2)
    gain = torch.where(torch.rand(clips, 1, device=device) < 0.3, gain * high_pass, gain)
    return torch.fft.irfft(spectrum * gain, size)[:, :samples]


def narrowed(x: Tensor, some: Tensor) -> Tensor:
    """Nothing above 3.45 to 3.95 kHz in the rows that `some` [clips, 1] is true for."""
    clips, samples = x.shape
    size = _transform_size(samples)
    spectrum = torch.fft.rfft(x, size)
    hertz = torch.linspace(0, RATE / 2, spectrum.shape[1], device=x.device)[None]
    edge = uniform(clips, *NARROW, x.device)
    gain = ((edge + SLOPE - hertz) / SLOPE).clamp(0.0, 1.0)
    return torch.where(some, torch.fft.irfft(spectrum * gain, size)[:, :samples], x)


def gated(x: Tensor, speech: Tensor, some: Tensor) -> Tensor:
    """Nothing while it is soft, in the rows that `some` [clips, 1] is true for; `speech` as of `augmented`.

    The gate opens with the first loud step, late for a soft beginning, and shuts some steps after the last.
    """
    clips, samples = x.shape
    whole = F.pad(x, (0, -samples % GATE_STEP)).view(clips, -1, GATE_STEP)
    loud = whole.square().mean(2).sqrt() > speech * 10 ** (uniform(clips, *GATE_DB, x.device) / 20)
    hold = torch.randint(len(GATE_HOLD), (clips, 1), device=x.device)
    opened = torch.zeros_like(loud)
    for number, steps in enumerate(GATE_HOLD):
        held = F.max_pool1d(F.pad(loud.float(), (steps, 0))[:, None], steps + 1, 1)[:, 0] > 0
        opened = opened | (held & (hold == number))
    return torch.where(some & ~opened.repeat_interleave(GATE_STEP, 1)[:, :samples], 0.0, x)


def augmented(x: Tensor, speech: Tensor, bank: Bank, levels: Levels) -> Tensor:
    """Put clean clips on site: room, noise, microphone, level, rounding to 16 bits.

    `x` [clips, samples], zero where nobody speaks (whole rows may be zero: noise alone); `speech` [clips, 1] is the
    root mean square over the speaking part that noise is measured against.
    """
    clips, samples = x.shape
    device = x.device
    response = bank.rooms[torch.randint(len(bank.rooms), (clips,), device=device)].clone()
    response[torch.rand(clips, device=device) >= levels.reverberant_share, 1:] = 0.0
    energy = response.square().sum(1, keepdim=True).sqrt()
    x = convolved(x, response / energy)
    ratio = torch.where(
        torch.rand(clips, 1, device=device) < levels.clean_share,
        uniform(clips, 30, 60, device),
        uniform(clips, levels.loudest_noise, levels.quietest_noise, device),
    )
    narrow = torch.rand(clips, 1, device=device) < levels.narrow_share
    gate = torch.rand(clips, 1, device=device) < levels.gated_share
    early = torch.rand(clips, 1, device=device) < EARLY
    x = gated(narrowed(x, narrow & early), speech, gate & early)
    x = x + bank.cut(clips, samples) * speech * 10 ** (-ratio / 20)
    x = gated(narrowed(x, narrow & ~early), speech, gate & ~early)
    x = _microphone(x, levels.equaliser)
    level = 10 ** (uniform(clips, -46, -8, device) / 20) * 32768
    x = x / speech * level
    ceiling = level * uniform(clips, 1.5, 4, device)
    x = torch.where(torch.rand(clips, 1, device=device) < 0.06, ceiling * torch.tanh(x / ceiling), x)
    x = x + torch.randn_like(x) * 10 ** uniform(clips, -0.5, 0.8, device)
    return x.clamp(-32768, 32767).round()
