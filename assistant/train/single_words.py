"""Single words that many people said: those of most of them into the speech to train on, the others kept apart.

The Speech Commands data set (Warden 2018, CC BY 4.0): WORD/SPEAKER_nohash_TAKE.wav, 16 kHz, a second each. The networks
that ship were trained on 4,008 takes split so; the kept ones went into `assistant.hearing many-people`.
"""

import shutil
from pathlib import Path
from random import Random
from zlib import crc32

from assistant.exits import Exit, Refusal
from assistant.train.corpus import sound
from assistant.train.speech_data import NewSet

FOLDER, LICENCE = "speech_commands", "CC BY 4.0"
KEPT_OF = 4
"""One speaker of so many, by a checksum of the name, is kept: nobody is ever on both sides."""
MOST = 330
"""Takes of a word, so that no word drowns the others."""


def is_kept(speaker: str) -> bool:
    """Not to be trained on: for the calibration."""
    return crc32(speaker.encode()) % KEPT_OF == 0


def split_words(folder: Path, speech_data: Path, kept: Path) -> int:
    """Put the takes into `speech_data` (Opus, and a line of its manifest.tsv each), the kept ones into `kept`/WORD.

    Returns how many takes were put into `speech_data`. Raises Refusal (USAGE), before anything is written: no takes, no
    manifest.tsv, or they are in it already; (BAD_AUDIO) naming a take that is no sound.
    """
    takes = sorted(folder.glob("*/*_nohash_*.wav"))
    if not takes:
        raise Refusal(Exit.USAGE, f"{folder}: no take WORD/SPEAKER_nohash_0.wav; name the folder of the data set")
    manifest = speech_data / "manifest.tsv"
    if not manifest.is_file():
        raise Refusal(Exit.USAGE, f"{manifest}: not there; name a copy of the speech to train on")
    out = NewSet(speech_data, FOLDER)
    Random(3).shuffle(takes)
    said = dict[str, int]()
    for take in takes:
        word, speaker = take.parent.name, take.name.split("_nohash_")[0]
        if is_kept(speaker):
            (kept / word).mkdir(parents=True, exist_ok=True)
            shutil.copy(take, kept / word)
        elif said.setdefault(word, 0) < MOST:
            said[word] += 1
            out.add(sound(take), f"sc-{speaker}", word, LICENCE)
    return out.done()
