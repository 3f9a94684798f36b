"""One training run: corpus folder in, checkpoint out."""

import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np
import torch
from numpy.typing import NDArray
from torch import Tensor

from assistant.speech.grammars import lexicon
from assistant.train.align import dictionary, read_alignments
from assistant.train.augment import ROW, Bank
from assistant.train.clips import Batches, Clips, Shape
from assistant.train.corpus import Clip, noises, read_audio, read_clips
from assistant.train.cross_entropy import CrossEntropy
from assistant.train.lexicon import Phones
from assistant.train.loop import Schedule, train
from assistant.train.mmi import Denominator, Mmi
from assistant.train.network import Network
from assistant.train.tables import Row, clips_of, rows

SHAPES = (Shape(24000, 38400, 96), Shape(40000, 56000, 64), Shape(90000, 108000, 32))
"""For a GPU; on a processor `share` of the clips."""
TALKERS = (2, 3, 5, 8)
"""Voices in the rows of babble."""
BABBLE_ROWS, NOISE_ROWS = 24, 64


@dataclass(frozen=True)
class Plan:
    """What to train for how long."""

    cross_entropy_s: float = 110.0
    mmi_s: float = 175.0
    cross_entropy_rate: float = 2e-3
    mmi_rate: float = 6e-4
    share: float = 1.0
    """Of the clips in SHAPES."""


class Material:
    """A corpus folder, ready for batches."""

    def __init__(self, folder: Path, phones: Phones, speech_data: Path, device: torch.device) -> None:
        number = {name: place for place, name in enumerate(phones.plain, 1)}
        table, dice = dictionary(), Random(0)
        clips, audio = read_clips(folder), read_audio(folder)
        made: list[Row] = []
        for found in read_alignments(folder):
            made += rows(clips[found.clip], found, number, dice)
        if not made:
            raise ValueError(f"{folder}: nothing is aligned; run 'align' first")
        made = [each for each in made if 4800 < each.size <= SHAPES[-1].longest]
        self.clips: Clips = clips_of(audio, made, device)
        self.words = {word: _numbers(forms, number) for word, forms in lexicon().items()}
        spoken = Counter(word for clip in clips if clip.kind == "task" for word in clip.words)
        unknown = [w for clip in clips for w in clip.words if w not in self.words and w in table]
        others = [_numbers(table[w], number)[0] for w in unknown]
        self.denominator = Denominator(self.words, spoken, others).to(device)
        talk = [each for each in clips if not set(each.words) & self.words.keys()]
        self.bank = Bank(device, [_field(speech_data), _babble(audio, talk)])


def _numbers(forms: Sequence[tuple[str, ...]], number: dict[str, int]) -> list[tuple[int, ...]]:
    return [tuple(number[phone] for phone in form) for form in forms]


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


def run(material: Material, plan: Plan, checkpoint: Path, start: Path | None = None) -> None:
    """Cross entropy, then MMI; `start`: a checkpoint to go on from."""
    device = material.clips.audio.device
    shapes = tuple(Shape(s.longest, s.samples, max(2, int(s.clips * plan.share))) for s in SHAPES)
    batches = Batches(material.clips, shapes, material.bank)
    network = Network().to(device)
    network.dropout = 0.1
    if start:
        network.load_state_dict({name: torch.tensor(values) for name, values in np.load(start).items()})
    else:
        network.adapt(torch.cat([batches.draw().cepstra.flatten(0, 1) for _ in range(4)]))
    if plan.cross_entropy_s > 0:
        objective = CrossEntropy(network.size.outputs, device)
        steps = train(network, batches, objective, Schedule(plan.cross_entropy_s, plan.cross_entropy_rate))
        objective.fold_prior(network)
        print(f"cross entropy: {steps} steps", file=sys.stderr)
    if plan.mmi_s > 0:
        steps = train(network, batches, Mmi(material.denominator), Schedule(plan.mmi_s, plan.mmi_rate))
        print(f"mmi: {steps} steps", file=sys.stderr)
    np.savez(checkpoint, **{name: values.float().cpu().numpy() for name, values in network.state_dict().items()})
