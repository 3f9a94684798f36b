"""Long recordings of many words, cut into short rows of words to train on, some people's kept apart to measure by.

The half of the second ear's correction that heard people with another first language was trained on 592 rows cut so
(alphanumeric audio dataset, MIT; telephone numbers read digit by digit).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

import soundfile

from assistant.exits import Exit, Refusal
from assistant.hearing.manifest import HUMAN, NONE, Item, meaning_of, write_manifest
from assistant.ports import RATE
from assistant.train.align import read_alignments
from assistant.train.corpus import Alignment, Clip, read_audio, read_clips
from assistant.train.lines import table
from assistant.train.single_words import is_kept
from assistant.train.speech_data import NewSet

AROUND = 0.25
"""Seconds kept at each side of a row, at most half of the gap there."""
SHORTEST = 0.15
"""Seconds; a shorter word was not found where it is, and no row has it."""
MOST = 4
"""Words of a row."""
LONGEST = 11 * RATE // 2
"""Samples of a row: hardly less than the longest batches take."""
ASK, FIRST_SEED = "size", 7000
"""Of the kept pairs: the ask that takes two bare numbers; the seeds by which docs/tried.md tells of them."""


@dataclass(frozen=True)
class Word:
    """A word and where it stands in its recording."""

    text: str
    begin: float
    """Seconds."""
    end: float


@dataclass(frozen=True)
class Row:
    """Some words of a recording."""

    text: str
    begin: int
    """First sample."""
    end: int


def words(clip: Clip, found: Alignment) -> list[Word]:
    """The clip's words as they were aligned."""
    return [
        Word(text, phones[0][1], end) for text, phones, end in zip(clip.words, found.words, found.ends, strict=True)
    ]


def row(said: Sequence[Word], first: int, until: int, size: int) -> Row | None:
    """The words `first` to before `until` of a recording of `size` samples; None with a word that is too short."""
    if any(each.end - each.begin < SHORTEST for each in said[first:until]):
        return None
    before = (said[first - 1].end + said[first].begin) / 2 if first else 0.0
    after = (said[until - 1].end + said[until].begin) / 2 if until < len(said) else size / RATE
    begin, end = max(before, said[first].begin - AROUND), min(after, said[until - 1].end + AROUND)
    return Row(" ".join(each.text for each in said[first:until]), int(begin * RATE), int(end * RATE))


def rows(said: Sequence[Word], size: int, dice: Random) -> list[Row]:
    """A recording from end to end in rows of one to MOST words, then each word alone."""
    places, first = list[tuple[int, int]](), 0
    while first < len(said):
        until = min(first + dice.randint(1, MOST), len(said))
        places.append((first, until))
        first = until
    places += [(each, each + 1) for each in range(len(said))]
    made = (row(said, *each, size) for each in places)
    return [each for each in made if each is not None and each.end - each.begin <= LONGEST]


def pairs(said: Sequence[Word], size: int) -> list[Row]:
    """A recording in twos, those that are a sentence of ASK."""
    made = (row(said, first, first + 2, size) for first in range(0, len(said) - 1, 2))
    return [each for each in made if each is not None and meaning_of(each.text, ASK) != NONE]


def cut_rows(folder: Path, corpus: Path, out: Path, kept: Path, seed: int) -> tuple[int, int]:
    """Put rows of the recordings of `folder` into the speech data `out`, pairs of the kept speakers into `kept`.

    `folder`: its manifest.tsv names speakers and licences; `corpus`: made of it by `people` and aligned. `out` may be
    new; the pairs' manifest.tsv is as `pullcall evaluate` reads it. Returns how many rows and pairs there are.
    Raises Refusal (USAGE), before anything is written: no clip of these speakers is aligned; `out` has the set already,
    `kept` pairs; a broken line.
    """
    licences = {told["speaker"]: told["licence"] for _, told in table(folder / "manifest.tsv", "speaker", "licence")}
    clips, found = read_clips(corpus), read_alignments(corpus)
    aligned = [(clips[each.clip], each) for each in found if clips[each.clip].speaker in licences]
    if not aligned:
        raise Refusal(Exit.USAGE, f"{corpus}: no clip of {folder} is aligned; run `people`, then `realign`")
    if (kept / "manifest.tsv").exists():
        raise Refusal(Exit.USAGE, f"{kept}: has pairs already; name a new folder")
    audio, dice, made, apart = read_audio(corpus), Random(seed), NewSet(out, folder.resolve().name), list[Item]()
    kept.mkdir(parents=True, exist_ok=True)
    for clip, each in aligned:
        sound, said = audio[clip.start : clip.start + clip.size], words(clip, each)
        if is_kept(clip.speaker):
            for pair in pairs(said, clip.size):
                item = _item(pair, kept, clip.speaker, len(apart))
                soundfile.write(item.file, sound[pair.begin : pair.end], RATE)
                apart.append(item)
        else:
            for one in rows(said, clip.size, dice):
                made.add(sound[one.begin : one.end], clip.speaker, one.text, licences[clip.speaker])
    write_manifest(apart, kept / "manifest.tsv")
    return made.done(), len(apart)


def _item(pair: Row, kept: Path, speaker: str, number: int) -> Item:
    file, means = kept / f"pair_{number:03d}.flac", meaning_of(pair.text, ASK)
    return Item(file, ASK, pair.text, means, f"{HUMAN}:{speaker}", FIRST_SEED + number, "task")
