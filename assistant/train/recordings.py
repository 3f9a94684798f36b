"""Speaks the recordings of a playlist.tsv anew: text, voice, speed, noise and seed of each stand in it.

python -m assistant.train.recordings FOLDER MODEL SYMBOLS VOICES      (see speakers.Kokoro for the last three)
"""

import csv
import sys
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import soundfile

from assistant.ports import RATE
from assistant.practice.noises import Samples, mix
from assistant.train.speakers import Kokoro, Speaker

LEAD_S, TAIL_S = 0.4, 0.6
"""Stillness around the sentence, seconds."""
HISS = 2e-4
"""A room is never digitally silent."""


def record(row: Mapping[str, str], voice: Kokoro) -> Samples:
    """One recording, float samples at RATE within +-1."""
    who = Speaker(((row["voice"], 1.0),), row["voice"].startswith("b"))
    said = voice.say(row["text"], who, float(row["speed"])) / 32768
    sound: Samples = np.pad(said, (round(LEAD_S * RATE), round(TAIL_S * RATE)))
    seed = int(row["seed"])
    sound = sound + np.random.default_rng(seed).standard_normal(len(sound)) * HISS
    return mix(sound, row["noise"], float(row["snr_db"]), seed) if row["noise"] else sound


def rebuild(folder: Path, voice: Kokoro) -> None:
    """Write every recording of `folder`/playlist.tsv as Ogg Opus."""
    lines = (folder / "playlist.tsv").read_text(encoding="utf-8").splitlines()
    for row in csv.DictReader(lines, delimiter="\t"):
        soundfile.write(folder / row["file"], record(row, voice), RATE, format="OGG", subtype="OPUS")


if __name__ == "__main__":
    folder, *parts = map(Path, sys.argv[1:])
    rebuild(folder, Kokoro(*parts))
