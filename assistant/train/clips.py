"""Clips of speech with what is said in them, and random batches of them for training."""

from dataclasses import dataclass

import torch
from torch import Tensor

from assistant.ports import RATE
from assistant.speech.cepstra import STEP, WINDOW
from assistant.speech.layout import SUBSAMPLING
from assistant.train.augment import Bank, Levels, augmented, whispered
from assistant.train.features import Cepstra
from assistant.train.network import padded


@dataclass(frozen=True)
class Clips:
    """Speech on one device; a row per clip."""

    audio: Tensor
    """All samples, int16, one clip after the other."""
    start: Tensor
    """First sample of each clip in `audio`."""
    size: Tensor
    """Samples of each clip."""
    chain: Tensor
    """[clips, longest] phones with a silence (0) at the ends and between words."""
    chain_size: Tensor
    """Phones of each chain."""
    segment_phone: Tensor
    """[clips, most] phones as aligned, silence included; rows of clips without alignment are 0."""
    segment_begin: Tensor
    """[clips, most] first sample of each segment; past the last one: very large."""
    weight: Tensor
    """How often a clip is drawn, relative to others; 0 = never."""


@dataclass(frozen=True)
class Shape:
    """Batches of one shape: clips that are at most `longest` samples long."""

    longest: int
    samples: int
    """Of each row; the rest is what stands before and after the clip."""
    clips: int


@dataclass(frozen=True)
class Batch:
    """What a training step needs."""

    cepstra: Tensor
    """[frames + context, clips, 40]"""
    frames: int
    """Of scores: a third of the cepstra's."""
    labels: Tensor
    """[frames, clips] outputs by the alignment."""
    aligned: Tensor
    """[clips] whether `labels` means anything."""
    chain: Tensor
    chain_size: Tensor


@dataclass(frozen=True)
class Takes:
    """Sounds on site."""

    sound: Tensor
    """[clips, samples]"""
    rows: Tensor
    """[clips] which clip of `Clips` each is."""
    speed: Tensor
    """[clips, 1] at which it is played."""
    lead: Tensor
    """[clips, 1] samples before it."""
    silent: Tensor
    """[clips, 1] whether it is noise alone."""


NEVER = 1 << 30
"""Begin of a segment that is none."""
FASTEST, SLOWEST = 1.14, 0.88
"""Bounds of the playing speed, which changes pitch and tempo together."""
SILENT_SHARE = 0.05
"""Of the rows: noise alone."""
HIDDEN_SHARE = 0.5


class Batches:
    """Draws random batches and puts them on site."""

    def __init__(self, clips: Clips, shapes: tuple[Shape, ...], bank: Bank, levels: Levels | None = None) -> None:
        self.clips, self.shapes, self.bank, self.levels = clips, shapes, bank, levels or Levels()
        self.cepstra = Cepstra().to(clips.audio.device)
        shortest = 0
        self._weights, shares = [], []
        for shape in shapes:
            inside = (clips.size > shortest) & (clips.size <= shape.longest)
            self._weights.append(clips.weight * inside)
            shares.append(float((self._weights[-1] * clips.size).sum()) / (shape.clips * shape.longest))
            shortest = shape.longest
        self.shares = torch.tensor(shares)

    def draw(self) -> Batch:
        """A batch of a random shape; shapes come in proportion to the speech they hold."""
        return self.make(int(torch.multinomial(self.shares, 1)))

    @torch.no_grad()
    def make(self, number: int) -> Batch:
        """A batch of shape `number`."""
        clips, taken = self.clips, self.takes(number)
        rows, silent = taken.rows, taken.silent
        features = self.cepstra(taken.sound, HIDDEN_SHARE, warp=True)
        frames = -(-features.shape[1] // SUBSAMPLING)
        rest = (torch.arange(frames, device=rows.device)[None] > 0).long()
        labels = torch.where(silent, rest, self._labels(rows, taken.speed, taken.lead, frames))
        size = torch.where(silent[:, 0], 1, clips.chain_size[rows])
        aligned = (clips.segment_begin[rows, 0] < NEVER) | silent[:, 0]
        return Batch(padded(features), frames, labels.T, aligned, clips.chain[rows], size)

    @torch.no_grad()
    def takes(self, number: int) -> Takes:
        """Sounds of shape `number`, put on site."""
        shape, clips = self.shapes[number], self.clips
        rows = torch.multinomial(self._weights[number], shape.clips, replacement=True)
        device = clips.audio.device
        speed = torch.rand(shape.clips, 1, device=device) * (FASTEST - SLOWEST) + SLOWEST
        room = (shape.samples - clips.size[rows, None] / speed).clamp_min(0.0)
        lead = torch.minimum(room * torch.rand_like(speed), torch.full_like(room, 0.6 * RATE))
        x, speech = self._played(rows, speed, lead, shape.samples)
        some = round(self.levels.whispered_share * shape.clips)
        if some:
            x[:some] = whispered(x[:some])
        silent = torch.rand(shape.clips, 1, device=device) < SILENT_SHARE
        return Takes(augmented(x * ~silent, speech, self.bank, self.levels), rows, speed, lead, silent)

    def _played(self, rows: Tensor, speed: Tensor, lead: Tensor, samples: int) -> tuple[Tensor, Tensor]:
        """The clips at their speeds, and the level of their speech: [clips, samples], [clips, 1]."""
        clips = self.clips
        place = (torch.arange(samples, device=rows.device)[None] - lead) * speed
        inside = (place >= 0) & (place < clips.size[rows, None] - 1)
        whole = place.long().clamp_min(0).minimum(clips.size[rows, None] - 2)
        at = clips.start[rows, None] + whole
        left, right = clips.audio[at].float(), clips.audio[at + 1].float()
        x = (left + (right - left) * (place - whole)) * inside
        level = (x.square().sum(1, keepdim=True) / inside.sum(1, keepdim=True).clamp_min(1)).sqrt()
        return x, level.clamp_min(10.0)

    def _labels(self, rows: Tensor, speed: Tensor, lead: Tensor, frames: int) -> Tensor:
        """[clips, frames] outputs; a frame belongs to the segment its centre falls into.

        What stands before and after a clip is the silence that its first and last segment are.
        """
        clips = self.clips
        centre = torch.arange(frames, device=rows.device)[None] * SUBSAMPLING * STEP + WINDOW // 2
        place = ((centre - lead) * speed).long()
        segment = torch.searchsorted(clips.segment_begin[rows], place.contiguous(), right=True) - 1
        segment = segment.clamp_min(0)
        phone = clips.segment_phone[rows].gather(1, segment)
        first = torch.ones_like(phone)
        first[:, 1:] = (segment[:, 1:] != segment[:, :-1]).long()
        return 2 * phone + 1 - first
