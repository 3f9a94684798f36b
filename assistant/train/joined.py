"""Single words of recorded people in a row: most of what many people said for others to use is single words."""

from pathlib import Path
from random import Random

import numpy as np

from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.train.corpus import PEOPLE, Clip, CorpusWriter, read_audio, read_clips

WORDS = (2, 4)
"""In a row, least and most."""
PAUSE = (RATE // 25, RATE // 3)
"""Samples between two, least and most; the recordings have silence of their own besides."""
LOUDNESS = 2000.0
UNEVEN_DB = 4.0
"""Largest difference from it."""


def add_joined(folder: Path, dice: Random, clips: int) -> None:
    """Add `clips` of one-word clips of the corpus in a row to it, every word as often, at about one loudness.

    A second call adds as many again. Raises Refusal (USAGE): there is none.
    """
    if not clips:  # the corpus may be empty
        return
    singles: dict[str, list[Clip]] = {}
    for each in read_clips(folder):
        if each.kind == PEOPLE and len(each.words) == 1:
            singles.setdefault(each.words[0], []).append(each)
    if not singles:
        raise Refusal(Exit.USAGE, f"{folder}: nobody says one word alone; leave --joined out")
    audio, out = read_audio(folder), CorpusWriter(folder)
    for _ in range(clips):
        taken = [dice.choice(singles[word]) for word in dice.choices(list(singles), k=dice.randint(*WORDS))]
        pieces = list[np.ndarray]()
        for each in taken:
            sound = audio[each.start : each.start + each.size].astype(np.float32)
            loud = LOUDNESS * 10 ** (dice.uniform(-UNEVEN_DB, UNEVEN_DB) / 20) / max(1.0, float(sound.std()))
            pieces += [np.zeros(dice.randrange(*PAUSE)), sound * loud]
        made = np.concatenate(pieces[1:]).clip(-32768, 32767).astype(np.int16)
        told = [word for each in taken for word in each.words]
        out.add(made, taken[0].source, "+".join(each.speaker for each in taken), PEOPLE, told)
