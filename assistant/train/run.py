"""One training run: corpus folder in, checkpoint out."""

import sys
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.speech.grammars import lexicon
from assistant.speech.witness import numbered
from assistant.train.align import read_alignments
from assistant.train.augment import ROW, Bank, Levels
from assistant.train.clips import Batches, Shape
from assistant.train.corpus import Alignment, Clip, noises, read_audio, read_clips
from assistant.train.cross_entropy import CrossEntropy
from assistant.train.lexicon import Phones
from assistant.train.loop import Schedule, train
from assistant.train.mmi import Denominator, Mmi
from assistant.train.network import Network, Size
from assistant.train.tables import clips_of, rows
from assistant.train.unfold import unfold
from assistant.train.unpack import read_networks

SHAPES = (Shape(24000, 38400, 96), Shape(40000, 56000, 64), Shape(90000, 108000, 32))
"""For a GPU; on a processor `share` of the clips."""
TALKERS = (2, 3, 5, 8)
"""Voices in the rows of babble."""
BABBLE_ROWS, NOISE_ROWS = 24, 64
TALK = ("text", "talk", "people")
"""Kinds of clips that babble is made of."""
SMALLEST = 4800
"""Samples; shorter pieces are left out."""
MATRIX = 2
HEARD = 8
"""Batches that a packed network hears before training goes on from it."""


@dataclass(frozen=True)
class Plan:
    """What to train for how long."""

    cross_entropy_s: float = 110.0
    mmi_s: float = 175.0
    cross_entropy_steps: int = 0
    mmi_steps: int = 0
    """Where not 0, the steps count and not the seconds."""
    cross_entropy_rate: float = 2e-3
    mmi_rate: float = 6e-4
    share: float = 1.0
    """Of the clips in SHAPES."""
    size: Size = Size()  # noqa: RUF009 - frozen
    snapshot: int = 0
    """Steps of MMI between snapshots; 0 = none."""
    levels: Levels = Levels()  # noqa: RUF009 - frozen


class Material:
    """A corpus folder, ready for batches."""

    def __init__(
        self, folder: Path, phones: Phones, speech_data: Path, device: torch.device, hours: float | None = None
    ) -> None:
        """`hours`: use only so much of the aligned speech, drawn at random (for the learning curve)."""
        number = {name: place for place, name in enumerate(phones.plain, 1)}
        clips, audio, dice = read_clips(folder), read_audio(folder), Random(0)
        found = _some(read_alignments(folder), clips, hours)
        if not found:
            raise Refusal(Exit.USAGE, f"{folder}: nothing is aligned; run 'align' first")
        made = [row for each in found for row in rows(clips[each.clip], each, number, dice)]
        made = [each for each in made if SMALLEST < each.size <= SHAPES[-1].longest]
        self.rows, self.clips = made, clips_of(audio, made, device)
        self.hours = sum(each.size for each in made) / RATE / 3600
        self.words = {word: numbered(word, forms, number) for word, forms in lexicon().items()}
        self.outputs = 2 * len(phones.plain) + 2
        spoken = Counter(word for each in found if clips[each.clip].kind == "task" for word in clips[each.clip].words)
        others = [
            tuple(number[phone] for phone, _ in sound)
            for each in found
            for word, sound in zip(clips[each.clip].words, each.words, strict=True)
            if word not in self.words
        ]
        self.denominator = Denominator(self.words, spoken, others, 1 + len(phones.common)).to(device)
        talk = [clips[each.clip] for each in found if clips[each.clip].kind in TALK]
        self.bank = Bank(device, [_field(speech_data), _babble(audio, talk)])


def _some(found: list[Alignment], clips: list[Clip], hours: float | None) -> list[Alignment]:
    if hours is None:
        return found
    left, some = hours * 3600 * RATE, list[Alignment]()
    for each in Random(1).sample(found, len(found)):
        if left > 0:
            some.append(each)
            left -= clips[each.clip].size
    return some


def _field(speech_data: Path) -> Tensor:
    """[NOISE_ROWS, ROW] of recorded noise, end to end."""
    found = [each.astype(np.float32) for each in noises(speech_data)]
    dice = np.random.default_rng(3)
    return torch.tensor(np.stack([_filled(found, dice, gap=0) for _ in range(NOISE_ROWS)]))


def _babble(audio: NDArray[np.int16], talk: list[Clip]) -> Tensor:
    """[rows, ROW] of several people talking at once, none of them in words of the grammars."""
    dice, made = np.random.default_rng(4), []
    pick = [talk[place] for place in dice.integers(len(talk), size=400)]
    speech = [audio[each.start : each.start + each.size].astype(np.float32) for each in pick]
    for talkers in TALKERS:
        made += [sum(_filled(speech, dice, gap=6000) for _ in range(talkers)) for _ in range(BABBLE_ROWS)]
    return torch.tensor(np.stack(made))


def _filled(pieces: list[NDArray[np.float32]], dice: np.random.Generator, gap: int) -> NDArray[np.float32]:
    """A row of ROW samples: random pieces at one level, up to `gap` samples between them."""
    row, place = np.zeros(ROW, np.float32), -int(dice.integers(30000))
    while place < ROW:
        piece = pieces[dice.integers(len(pieces))]
        begin, end = max(0, place), min(ROW, place + len(piece))
        if end > begin:
            row[begin:end] = piece[begin - place : end - place] / (piece.std() + 50.0)
        place += len(piece) + int(dice.integers(gap + 1))
    return row


def save(network: Network, file: Path) -> None:
    """Write the weights, 16 bits each: more than their noise, half the bytes."""
    weights: dict[str, Any] = {name: _half(each.cpu().numpy()) for name, each in network.state_dict().items()}
    np.savez(file, **weights)


def _half(values: NDArray[np.float32]) -> NDArray[np.float32] | NDArray[np.float16]:
    # Spreads and means of batch norms may not fit into 16 bits.
    return values.astype(np.float16) if values.ndim == MATRIX else values


def start_from(checkpoint: Path, device: torch.device) -> Network:
    """The network of a checkpoint; its widths are read off the weights."""
    with np.load(checkpoint) as found:
        weights = {name: torch.tensor(found[name], dtype=torch.float32) for name in found.files}
    outputs, wide, narrow = (len(weights[f"{name}.weight"]) for name in ("output", "first", "last_linear"))
    network = Network(Size(outputs, wide=wide, narrow=narrow))
    network.load_state_dict(weights)
    return network.to(device)


def _packed(start: Path, number: int, batches: Batches) -> Network:
    networks = read_networks(start)
    if number >= len(networks):
        raise Refusal(Exit.USAGE, f"{start}: has {len(networks)} networks, the first is 0; there is no {number}")
    network = networks[number].to(batches.clips.audio.device)
    unfold(network, [batches.draw().cepstra for _ in range(HEARD)])
    return network


def run(material: Material, plan: Plan, checkpoint: Path, start: Path | None = None, number: int = 0) -> None:
    """Cross entropy, then MMI. The first is kept as *.ce.npz.

    `start`: to go on from, a checkpoint, or network `number` (the first is 0) of a packed final.mdl.
    Raises Refusal (USAGE): no such network.
    """
    device = material.clips.audio.device
    shapes = tuple(Shape(s.longest, s.samples, max(2, int(s.clips * plan.share))) for s in SHAPES)
    batches = Batches(material.clips, shapes, material.bank, plan.levels)
    if start:
        network = _packed(start, number, batches) if start.suffix == ".mdl" else start_from(start, device)
    else:
        network = Network(replace(plan.size, outputs=material.outputs)).to(device)
        network.adapt(torch.cat([batches.draw().cepstra.flatten(0, 1) for _ in range(4)]))
    network.dropout = 0.1
    if plan.cross_entropy_s > 0:
        objective = CrossEntropy(network.size.outputs, device)
        schedule = Schedule(plan.cross_entropy_s, plan.cross_entropy_rate, steps=plan.cross_entropy_steps, every=200)
        steps = train(network, batches, objective, schedule)
        objective.fold_prior(network)
        save(network, checkpoint.with_suffix(".ce.npz"))
        print(f"cross entropy: {steps} steps", file=sys.stderr)
    if plan.mmi_s > 0:
        schedule = Schedule(plan.mmi_s, plan.mmi_rate, steps=plan.mmi_steps, snapshot=plan.snapshot, every=200)

        def keep(step: int, here: Network) -> None:
            save(here, checkpoint.with_suffix(f".{step}.npz"))

        steps = train(network, batches, Mmi(material.denominator), schedule, keep)
        print(f"mmi: {steps} steps", file=sys.stderr)
    save(network, checkpoint)
