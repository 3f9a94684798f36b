"""Recorded people: open recordings of digits, joined to sentences, and of other words and prompts, as other speech.

`people` makes the set to test on: share-alike recordings, never to be trained or tuned on. `many_people` makes one of
others, which the calibration may hear. No recording is part of the program. What is joined here from single words has
the sound of people, not their rhythm.
"""

from collections.abc import Iterable, Iterator
from pathlib import Path
from random import Random

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal
from assistant.hearing.manifest import HUMAN, NONE, Item, meaning_of, write_manifest
from assistant.speech.grammars import asks

Samples = NDArray[np.float32]
NUMBERS = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
TENS = {20: "twenty", 30: "thirty", 40: "forty", 50: "fifty", 60: "sixty", 70: "seventy", 80: "eighty", 90: "ninety"}
ASK = "size"
"""Takes feet and inches as two bare numbers: 'eleven six'."""
PAIRS, ALONE, LENGTHS = 50, 20, 100
"""Of each speaker of digits: two digits joined; single ones, no sentence of any ask. Of the speaker of prompts."""
BETWEEN_S, AROUND_S = 0.08, 0.1
"""Silence between joined words and around them, seconds."""
LONGEST_S = 12.0
"""Longer prompts are left out."""
MANY_PAIRS, MANY_ANSWERS, MANY_OTHERS = 200, 60, 110
"""Of many people: digits joined, yes or no, other words."""
ANSWERS, ANSWER_ASK = ("yes", "no"), "confirm"
NARROW = 8000
"""Samples a second, as some headsets send them."""
MOST_WORDS = 3
"""Of the other words, one after the other."""
SOUNDS = ("beep", "tone", "monkeys")
"""Prompts that are no speech, by a part of their name."""


def people(digits: Path, prompts: Path, out: Path) -> int:
    """Write recordings and their manifest.tsv to `out`; the number of recordings. Always the same ones.

    `digits`: the folder recordings/ of the Free Spoken Digit Dataset (DIGIT_SPEAKER_TAKE.wav, 8 kHz, CC BY-SA 4.0).
    `prompts`: a folder of one speaker's prompts as WAV, its numbers in digits/ (Debian package
    asterisk-core-sounds-en-g722, CC BY-SA 3.0, decoded).
    Raises Refusal (USAGE): a folder without such recordings.
    """
    dice = Random(1)
    out.mkdir(parents=True, exist_ok=True)
    items = [*_of_digits(digits, out, dice), *_lengths(prompts, out, dice), *_prompts(prompts, out, dice)]
    write_manifest(items, out / "manifest.tsv")
    return len(items)


def many_people(folder: Path, out: Path) -> int:
    """Write recordings and their manifest.tsv to `out`; the number of recordings. Always the same ones.

    `folder`: single words of many people, WORD/*.wav, 16 kHz (the Speech Commands data set, CC BY 4.0). Every other
    recording is brought to 8 kHz, as headsets send it.
    Raises Refusal (USAGE): a folder that lacks a digit, an answer or any other word.
    """
    takes = {each.name: sorted(each.glob("*.wav")) for each in sorted(folder.iterdir()) if each.is_dir()}
    if lacking := [each for each in (*NUMBERS[1:10], *ANSWERS) if not takes.get(each)]:
        raise Refusal(Exit.USAGE, f"{folder}: no recording {lacking[0]}/*.wav; name the folder of the data set")
    others = [each for each, files in takes.items() if files and each not in (*NUMBERS, *ANSWERS)]
    if not others:
        raise Refusal(Exit.USAGE, f"{folder}: no words but digits and answers; name the folder of the data set")
    out.mkdir(parents=True, exist_ok=True)
    dice = Random(17)
    told = [(dice.choices(NUMBERS[1:10], k=2), ASK) for _ in range(MANY_PAIRS)]
    told += [([dice.choice(ANSWERS)], ANSWER_ASK) for _ in range(MANY_ANSWERS)]
    told += [(dice.choices(others, k=dice.randint(1, MOST_WORDS)), dice.choice(asks())) for _ in range(MANY_OTHERS)]
    items = []
    for place, (words, ask) in enumerate(told):
        files = [dice.choice(takes[word]) for word in words]
        to, text = out / f"many_{place:03d}.flac", " ".join(words)
        items.append(_made(to, text, files, f"{HUMAN}:many", dice, ask, "talk", NARROW if place % 2 else 0))
    write_manifest(items, out / "manifest.tsv")
    return len(items)


def _of_digits(folder: Path, out: Path, dice: Random) -> Iterator[Item]:
    takes: dict[str, dict[int, list[Path]]] = {}
    for file in sorted(folder.glob("[0-9]_*_*.wav")):
        digit, speaker, _ = file.stem.split("_")
        takes.setdefault(speaker, {}).setdefault(int(digit), []).append(file)
    if not takes:
        raise Refusal(Exit.USAGE, f"{folder}: no recording such as 7_name_0.wav; name the data set's recordings folder")
    for number, (_, mine) in enumerate(sorted(takes.items()), 1):
        voice = f"{HUMAN}:digits{number}"
        for place in range(PAIRS + ALONE):
            said = [dice.randint(1, 9) for _ in range(2 if place < PAIRS else 1)]
            name = f"digits{number}_{place:02d}.flac"
            yield _made(out / name, _words(said), [dice.choice(mine[each]) for each in said], voice, dice)


def _lengths(folder: Path, out: Path, dice: Random) -> Iterator[Item]:
    for place in range(LENGTHS):
        said = list[int]()
        while meaning_of(_words(said), ASK) == NONE:  # 'twenty' and 'one' are one number
            feet, inches = dice.randint(1, 99), dice.randint(1, 11)
            said = [*([feet] if feet < len(NUMBERS) else [feet - feet % 10, feet % 10]), inches]
            said = [each for each in said if each]
        files = [folder / "digits" / f"{each}.wav" for each in said]
        yield _made(out / f"length_{place:02d}.flac", _words(said), files, f"{HUMAN}:prompts", dice)


def _prompts(folder: Path, out: Path, dice: Random) -> Iterator[Item]:
    for file in sorted(folder.glob("*.wav")):
        if any(each in file.name for each in SOUNDS) or soundfile.info(file).duration > LONGEST_S:
            continue
        to = out / f"prompt_{file.stem}.flac"
        soundfile.write(to, *_sound([file]))
        text = file.stem.replace("-", " ")
        yield Item(to, dice.choice(asks()), text, NONE, f"{HUMAN}:prompts", dice.randrange(1 << 30), "talk")


def _words(numbers: Iterable[int]) -> str:
    return " ".join(TENS.get(each) or NUMBERS[each] for each in numbers)


def _made(
    to: Path,
    text: str,
    files: Iterable[Path],
    voice: str,
    dice: Random,
    ask: str = ASK,
    otherwise: str = "cut",
    rate: int = 0,
) -> Item:
    """The recordings joined in `to`; `otherwise`: the kind of what is no sentence of `ask`; `rate`: 0 = as they are."""
    samples, recorded = _sound(files)
    if rate:
        samples = soxr.resample(samples, recorded, rate)
    soundfile.write(to, samples, rate or recorded)
    means = meaning_of(text, ask)
    return Item(to, ask, text, means, voice, dice.randrange(1 << 30), otherwise if means == NONE else "task")


def _sound(files: Iterable[Path]) -> tuple[Samples, int]:
    """The recordings one after the other, and their rate."""
    pieces, rate = list[Samples](), 0
    for file in files:
        try:
            heard, rate = soundfile.read(file, dtype="float32")
        except soundfile.LibsndfileError:
            raise Refusal(Exit.USAGE, f"{file}: cannot be read; name a folder with this recording as WAV") from None
        pieces += [np.zeros(round(BETWEEN_S * rate), np.float32)] * bool(pieces) + [heard]
    return np.pad(np.concatenate(pieces), round(AROUND_S * rate)), rate
