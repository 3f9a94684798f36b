"""Speaks recordings anew from what stands beside them: the demo's playlist.tsv, an evaluation's manifest.tsv.

python -m assistant.train recordings --folder FOLDER --kokoro MODEL --symbols SYMBOLS --voices VOICES
"""

import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from random import Random

import numpy as np
import soundfile
import soxr

from assistant.hearing.manifest import Item, write_manifest
from assistant.hearing.script import ESPEAK, TALK, script
from assistant.ports import RATE
from assistant.practice.noises import Samples, mix
from assistant.speech.voice_process import VoiceProcess
from assistant.train.lines import refuse, table
from assistant.train.speakers import DEVELOPMENT, HELD_OUT, Kokoro, Speaker

LEAD_S, TAIL_S = 0.4, 0.6
"""Stillness around a sentence of the demo, seconds."""
SHORT_LEAD_S, SHORT_TAIL_S = 0.3, 0.4
"""The same around one of an evaluation."""
HISS = 2e-4
"""A room is never digitally silent."""
SLOWEST, FASTEST = 0.8, 1.25
"""Bounds of the speaking rate in an evaluation."""
SMALL = 0.93
"""libsndfile's compression level for some 24 kbit/s."""
PLAYLIST = ("file", "text", "voice", "speed", "noise", "snr_db", "seed")
"""Columns of the demo's playlist."""
SETS: Mapping[str, tuple[Sequence[str], int, Path, Sequence[str]]] = {
    "evaluation": (HELD_OUT, 41, TALK, ESPEAK),
    "development": (DEVELOPMENT, 7, TALK.with_name("development_talk.txt"), ()),
}
"""Set of recordings -> voices, seed, the file with the speech outside the grammars, formant voices."""


def record(row: Mapping[str, str], voice: Kokoro) -> Samples:
    """One recording of the demo, float samples at RATE within +-1."""
    sound = _still(voice.say(row["text"], _speaker(row["voice"]), float(row["speed"])) / 32768, LEAD_S, TAIL_S)
    seed = int(row["seed"])
    sound = sound + np.random.default_rng(seed).standard_normal(len(sound)) * HISS
    return mix(sound, row["noise"], float(row["snr_db"]), seed) if row["noise"] else sound


def speak(item: Item, voice: Kokoro, espeak: VoiceProcess) -> Samples:
    """One recording of an evaluation, clean, float samples at RATE within +-1."""
    speed = Random(item.seed).uniform(SLOWEST, FASTEST)
    engine, _, name = item.voice.rpartition(":")
    said = _formant(item.text, name, speed, espeak) if engine else voice.say(item.text, _speaker(name), speed) / 32768
    sound = _still(said, SHORT_LEAD_S, SHORT_TAIL_S)
    return sound + np.random.default_rng(item.seed).standard_normal(len(sound)) * HISS


def _speaker(name: str) -> Speaker:
    return Speaker(((name, 1.0),), name.startswith("b"))


def _still(said: Samples, lead_s: float, tail_s: float) -> Samples:
    return np.pad(said, (round(lead_s * RATE), round(tail_s * RATE)))


def _formant(text: str, name: str, speed: float, espeak: VoiceProcess) -> Samples:
    """espeak-ng, which is no neural voice: 'en-us+m3' at `speed` times 155 words a minute."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        espeak.ask(
            {"text": text, "file": str(file), "voice": name, "pitch": 50, "rate": round(155 * speed), "volume": 1.0}
        )
        sound, rate = soundfile.read(file, dtype="float64")
    said = soxr.resample(sound, rate, RATE)
    loud = np.flatnonzero(np.abs(said) > 0.01)
    trimmed: Samples = said[loud[0] : loud[-1]] * 0.7 / np.abs(said).max()
    return trimmed


def rebuild(folder: Path, voice: Kokoro) -> None:
    """Write every recording of `folder`/playlist.tsv as Ogg Opus.

    Raises Refusal (USAGE) naming file and line: cells missing or too many, a figure that is none, an unknown voice.
    """
    playlist = folder / "playlist.tsv"
    for number, row in list(table(playlist, *PLAYLIST)):
        try:
            sound = record(row, voice)
        except (ValueError, KeyError) as error:
            refuse(playlist, number, f"{error} is no voice, noise or figure known here; mend the line")
        soundfile.write(folder / row["file"], sound, RATE, format="OGG", subtype="OPUS")


def rebuild_set(folder: Path, name: str, voice: Kokoro, part: int = 0, parts: int = 1) -> None:
    """Write the recordings of a set of SETS that `folder` lacks, and its manifest.tsv.

    `part` of `parts`: several processes may share the work.
    """
    folder.mkdir(parents=True, exist_ok=True)
    voices, seed, talk, formant = SETS[name]
    items, espeak = script(folder, voices, seed, talk, formant), VoiceProcess(None, 20.0)
    for item in items[part::parts]:
        if not item.file.exists():
            unfinished = item.file.with_suffix(".part")
            soundfile.write(
                unfinished, speak(item, voice, espeak), RATE, format="OGG", subtype="OPUS", compression_level=SMALL
            )
            unfinished.replace(item.file)
    espeak.close()
    # Another process may still be at its part: a manifest names what is there.
    write_manifest((each for each in items if each.file.exists()), folder / "manifest.tsv")
