"""The corpus on disk: one file of samples, one line of JSON per clip.

A corpus folder holds audio.i2 (16 kHz, mono, 16-bit little-endian, clip after clip), clips.jsonl (class `Clip`) and,
once aligned, alignment.jsonl (class `Alignment`).
"""

import json
import math
import re
import shutil
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from random import Random

import numpy as np
import soundfile
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.train.accents import SHARE, accent
from assistant.train.formant import Formant
from assistant.train.lines import json_lines, refuse, table
from assistant.train.sentences import Pronunciations, Writer, aloud
from assistant.train.speakers import Kokoro, speaker

SLOW_SHARE = 0.3
SLOWEST, SLOW, FASTEST = 0.55, 0.78, 1.30
"""Bounds of the synthesiser's speaking rate; SLOW_SHARE of the breaths are below the second."""
SLOW_AND_HESITANT = 0.5
"""Of the slow ones make pauses."""
COMMAND_SHARE = 0.1
"""Of the breaths are one short command: a word alone has nothing before it to be known by."""
ALONE_SHARE = 0.3
"""Of the breaths are one sentence only."""
BREATH = (25, 110)
"""Letters after which no further sentence is begun: the least and the most."""
OURS = ("task", "words")
"""Kinds of the breaths whose words are the grammars' only."""
PEOPLE = "people"
"""Kind of the clips of recorded people."""


@dataclass(frozen=True)
class Clip:
    """One utterance."""

    start: int
    """First sample in audio.i2."""
    size: int
    """Samples."""
    source: str
    """Folder it came from, or 'synthetic'."""
    speaker: str
    kind: str
    words: tuple[str, ...]


@dataclass(frozen=True)
class Alignment:
    """Phones of one clip in time."""

    clip: int
    """Its line in clips.jsonl."""
    words: tuple[tuple[tuple[str, float], ...], ...]
    """Per word: (phone, begin in seconds)."""
    ends: tuple[float, ...]
    """Per word: seconds."""


class CorpusWriter:
    """Appends clips to a corpus folder."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        folder.mkdir(parents=True, exist_ok=True)
        self._audio = (folder / "audio.i2").open("ab")
        self._lines = (folder / "clips.jsonl").open("a", encoding="utf-8")

    def add(self, samples: NDArray[np.int16], source: str, speaker_: str, kind: str, words: Iterable[str]) -> None:
        """Write one clip; both files are flushed, so a stopped run keeps what it has."""
        clip = Clip(self._audio.tell() // 2, len(samples), source, speaker_, kind, tuple(words))
        self._audio.write(samples.astype("<i2").tobytes())
        self._audio.flush()
        print(json.dumps(asdict(clip)), file=self._lines, flush=True)

    def people(self) -> Counter[tuple[str, str, tuple[str, ...]]]:
        """The clips of recorded people that are there: source, speaker, words."""
        return Counter(
            (each.source, each.speaker, each.words) for each in read_clips(self._folder) if each.kind == PEOPLE
        )


def join(out: Path, folders: Sequence[Path]) -> None:
    """Write one corpus of several, alignments too where they are there. `out` must not be a corpus yet.

    Raises Refusal (USAGE): it is one; a broken line of theirs.
    """
    if (out / "clips.jsonl").exists():
        raise Refusal(Exit.USAGE, f"{out}: has clips already; name a new folder")
    out.mkdir(parents=True, exist_ok=True)
    with (
        (out / "audio.i2").open("wb") as audio, (out / "clips.jsonl").open("w", encoding="utf-8") as clips,
        (out / "alignment.jsonl").open("w", encoding="utf-8") as alignment,
    ):  # fmt: skip
        line = 0
        for folder in folders:
            begin = audio.tell() // 2
            with (folder / "audio.i2").open("rb") as sound:
                shutil.copyfileobj(sound, audio, 1 << 24)
            found = read_clips(folder)
            for each in found:
                print(json.dumps(asdict(replace(each, start=begin + each.start))), file=clips)
            if (folder / "alignment.jsonl").exists():
                for row in json_lines(folder / "alignment.jsonl", dict):
                    print(json.dumps({**row, "clip": line + row["clip"]}), file=alignment)
            line += len(found)


def read_clips(folder: Path) -> list[Clip]:
    """All clips of a corpus folder. Raises Refusal (USAGE) naming file and line of a broken one."""
    return json_lines(folder / "clips.jsonl", lambda row: Clip(**{**row, "words": tuple(row["words"])}))


def read_audio(folder: Path) -> NDArray[np.int16]:
    """All samples, mapped, not loaded."""
    return np.memmap(folder / "audio.i2", "<i2", "r")


def check_words(folder: Path, dictionary: Pronunciations) -> None:
    """Raises Refusal (USAGE) naming file, line and the first word that nobody knows how to pronounce."""
    for number, clip in enumerate(read_clips(folder), 1):
        for word in clip.words:
            if word not in dictionary:
                refuse(folder / "clips.jsonl", number, f"'{word}' has no pronunciation; add it to grammars/lexicon.txt")


def synthesise(
    out: CorpusWriter,
    voice: Kokoro,
    writer: Writer,
    dice: Random,
    clips: int,
    seconds: float = math.inf,
    accents: float = SHARE,
) -> None:
    """Add up to `clips` utterances of random synthetic speakers; each is one breath, often of several sentences.

    `seconds`: of wall time, after which none is begun. `accents`: share of the speakers of our words who have one.
    """
    end = time.monotonic() + seconds
    for _ in range(clips):
        if time.monotonic() >= end:
            break
        kind, told, text, speed = drawn(writer, dice)
        who = speaker(voice.voices, dice)
        if kind in OURS:  # with an accent a near-miss can be the very word it is near to
            who = replace(who, accent=accent(dice, accents))
        out.add(voice.say(text, who, speed), "synthetic", who.name, kind, told)


def add_formant(out: CorpusWriter, voice: Formant, writer: Writer, dice: Random, clips: int) -> None:
    """The same by formant voices; ordinary text is left to the others."""
    while clips > 0:
        kind, words, _, _ = drawn(writer, dice)
        if kind != "text":
            name, samples = voice.say(" ".join(words), dice)
            out.add(samples, "synthetic", f"espeak:{name}", kind, words)
            clips -= 1


def drawn(writer: Writer, dice: Random) -> tuple[str, list[str], str, float]:
    """A random breath: its kind, its words, the text to speak, the speaking rate."""
    if dice.random() < COMMAND_SHARE:
        kind, told = "task", [writer.command(dice)]
    else:
        kind, told = writer.breath(dice, 1 if dice.random() < ALONE_SHARE else dice.randint(*BREATH), len)
    slow = dice.random() < SLOW_SHARE
    speed = dice.uniform(SLOWEST, SLOW) if slow else dice.uniform(SLOW, FASTEST)
    text = aloud(told, dice, SLOW_AND_HESITANT) if slow else aloud(told, dice)
    return kind, " ".join(told).lower().split(), text, speed


def people(folder: Path, dictionary: Pronunciations) -> Iterator[tuple[Path, str, str, tuple[str, ...]]]:
    """(file, source, speaker, words) of recorded people: rows of manifest.tsv, missing text from machine_text.tsv.

    Clips without text or with a word that is not in the dictionary are passed over; letters are spelled ('b' is 'b.').
    Raises Refusal (USAGE) naming file and line: cells missing or too many, a recording that is not there.
    """
    manifest = folder / "manifest.tsv"
    by_machine = folder / "machine_text.tsv"
    texts = table(by_machine, "path", "text") if by_machine.is_file() else ()
    machine = {row["path"]: row["text"] for _, row in texts}
    for number, row in table(manifest, "path", "speaker", "text"):
        path, text = row["path"], row["text"]
        source = path.split("/")[0]
        if source.startswith("noise"):
            continue
        if not (folder / path).is_file():
            refuse(manifest, number, f"recording '{path}' is not there; fetch it or take the line out")
        told = (text or machine.get(path.split("/")[-1], "")).lower()
        words = tuple(_spelled(word, dictionary) for word in re.findall(r"[a-z0-9']+", told))
        if words and all(word in dictionary for word in words):
            yield folder / path, source, row["speaker"], words


def _spelled(word: str, dictionary: Pronunciations) -> str:
    if len(word) == 1 and word not in "ai" and f"{word}." in dictionary:
        return f"{word}."
    return word if word in dictionary else word.strip("'")


def add_people(out: CorpusWriter, folder: Path, dictionary: Pronunciations) -> int:
    """Add the recorded people of `folder` that are not there yet; returns the number of clips added.

    Raises Refusal: BAD_AUDIO naming the recording; USAGE, before anything is written, as `people` does.
    """
    count, there = 0, out.people()
    for file, source, who, words in list(people(folder, dictionary)):
        if there[source, who, words]:
            there[source, who, words] -= 1
        else:
            out.add(sound(file), source, who, PEOPLE, words)
            count += 1
    return count


def sound(file: Path) -> NDArray[np.int16]:
    """The samples of a recording. Raises Refusal (BAD_AUDIO) naming one that is none, or not 16 kHz mono."""
    try:
        samples, rate = soundfile.read(file, dtype="int16")
    except soundfile.LibsndfileError as error:
        raise Refusal(Exit.BAD_AUDIO, f"{file}: no sound ({error.error_string}); fetch it again") from None
    if rate != RATE or samples.ndim != 1:
        raise Refusal(Exit.BAD_AUDIO, f"{file}: {rate} Hz, {samples.ndim} axes; must be 16 kHz mono")
    return np.asarray(samples)


def noises(folder: Path) -> list[NDArray[np.int16]]:
    """Field recordings of noise: folders noise_*."""
    return [sound(file) for file in sorted(folder.glob("noise_*/*.ogg"))]
