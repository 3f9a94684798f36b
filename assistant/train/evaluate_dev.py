"""How well a model folder hears a development corpus: the real recogniser, the graphs of the asks, noise added.

Only the development voices belong here; the exam has its own voices and its own code.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.manifest import read_manifest
from assistant.speech.grammars import asks
from assistant.speech.model import UNKNOWN, SpeechModel, open_model
from assistant.train.corpus import read_audio, read_clips, sound
from assistant.train.lines import refuse

LEAD, TAIL = 4800, 6400
"""Samples of silence around each clip."""


@dataclass(frozen=True)
class Condition:
    """Clean speech, or pink noise at a ratio over the clip's active part."""

    decibels: float | None = None

    def __str__(self) -> str:
        return "clean" if self.decibels is None else f"pink {self.decibels:g} dB"


@dataclass
class Tally:
    """What came out under one condition."""

    inside: int = 0
    right: int = 0
    refused: int = 0
    """Sentences of the grammar heard as '[unk]' or as nothing."""
    outside: int = 0
    accepted: int = 0
    """Other speech heard as a sentence of the grammar."""

    def add(self, said: str | None, heard: str) -> None:
        """`said` is None for speech that is no sentence of the grammar."""
        taken = bool(heard) and UNKNOWN not in heard
        if said is None:
            self.outside += 1
            self.accepted += taken
        else:
            self.inside += 1
            self.right += heard == said
            self.refused += not taken

    def __str__(self) -> str:
        return (
            f"right {_share(self.right, self.inside)} of {self.inside}, refused {_share(self.refused, self.inside)}, "
            f"accepted {_share(self.accepted, self.outside)} of {self.outside} others"
        )


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "-"


@dataclass(frozen=True)
class Trial:
    """One clip under the grammar of one ask."""

    ask: str
    said: str | None
    samples: NDArray[np.int16]


def trials(folder: Path) -> list[Trial]:
    """What is tried, ask by ask, from a folder of either kind.

    Recordings with a manifest.tsv (`recordings --set development`), or a corpus whose kinds are 'task ASK' for a
    sentence of that ask and 'other ASK' for none. Raises Refusal (USAGE) naming file and line of a broken one.
    """
    found = _recorded(folder) if (folder / "manifest.tsv").is_file() else _kept(folder)
    return sorted(found, key=lambda each: each.ask)


def _recorded(folder: Path) -> Iterator[Trial]:
    for item in read_manifest(folder / "manifest.tsv"):
        yield Trial(item.ask, item.text if item.inside else None, sound(item.file))


def _kept(folder: Path) -> Iterator[Trial]:
    audio = read_audio(folder)
    for number, clip in enumerate(read_clips(folder), 1):
        kind, _, ask = clip.kind.partition(" ")
        if kind not in ("task", "other") or ask not in asks():
            refuse(folder / "clips.jsonl", number, f"kind '{clip.kind}'; must be 'task ASK' or 'other ASK'")
        said = " ".join(clip.words) if kind == "task" else None
        yield Trial(ask, said, np.asarray(audio[clip.start : clip.start + clip.size]))


def pink(samples: int, dice: np.random.Generator) -> NDArray[np.float64]:
    """Noise with power falling as 1 / frequency, deviation 1."""
    spectrum = np.fft.rfft(dice.standard_normal(samples))
    noise = np.fft.irfft(spectrum / np.sqrt(np.arange(len(spectrum)) + 1.0), samples)
    return np.asarray(noise / noise.std())


def heard_as(samples: NDArray[np.int16], condition: Condition, dice: np.random.Generator) -> bytes:
    """16-bit samples as the microphone would give them: silence around, noise, a level between -30 and -14 dB."""
    active = max(10.0, float(samples.std()))
    x = np.concatenate([np.zeros(LEAD), samples.astype(np.float64), np.zeros(TAIL)])
    if condition.decibels is not None:
        x += pink(len(x), dice) * active * 10 ** (-condition.decibels / 20)
    x *= 32768 * 10 ** (dice.uniform(-30, -14) / 20) / active
    x += 2.0 * dice.standard_normal(len(x))
    return x.clip(-32768, 32767).astype("<i2").tobytes()


def evaluate(model: Path, folder: Path, conditions: Sequence[Condition]) -> Iterator[tuple[Condition, Tally]]:
    """Every condition with its tally; the same noise for every model."""
    speech_model, tried = open_model(model), trials(folder)
    for condition in conditions:
        tally = Tally()
        for number, trial in enumerate(tried):
            heard = hear(speech_model, trial.ask, heard_as(trial.samples, condition, np.random.default_rng(number)))
            tally.add(trial.said, heard)
        yield condition, tally


def hear(model: SpeechModel, ask: str, sound: bytes) -> str:
    """The words heard in a whole clip."""
    recogniser = model.recogniser(ask)
    recogniser.AcceptWaveform(sound)
    return str(json.loads(recogniser.FinalResult())["text"])
