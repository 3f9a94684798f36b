"""A corpus folder of clips of noise, for the tests of training: words laid out evenly, recorded noise beside them."""

import json
from pathlib import Path
from random import Random

import numpy as np
import soundfile

from assistant.speech.grammars import lexicon
from assistant.train.corpus import CorpusWriter


def noise_corpus(folder: Path, kinds: tuple[str, ...] = ("talk", "task"), level: float = 900.0) -> Path:
    """Twelve clips of a second, two words each, their `kinds` in turn; `level`: standard deviation of the samples."""
    dice = np.random.default_rng(1)
    writer, words = CorpusWriter(folder), sorted(lexicon())
    with (folder / "alignment.jsonl").open("w", encoding="utf-8") as lines:
        for number in range(12):
            told = Random(number).choices(words, k=2)
            kind = kinds[number % len(kinds)]
            writer.add(dice.normal(0, level, 16000).astype(np.int16), "synthetic", "x", kind, told)
            at, rows, ends = 0.1, [], []
            for word in told:
                phones = lexicon()[word][0]
                rows.append([[phone, round(at + 0.03 * k, 3)] for k, phone in enumerate(phones)])
                at = round(at + 0.03 * len(phones), 3)
                ends.append(at)
                at += 0.06
            print(json.dumps({"clip": number, "words": rows, "ends": ends}), file=lines)
    (folder / "speech" / "noise_x").mkdir(parents=True)
    soundfile.write(folder / "speech" / "noise_x" / "a.ogg", dice.normal(0, 0.1, 32000), 16000)
    return folder
