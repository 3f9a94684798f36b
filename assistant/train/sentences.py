"""What the synthetic speakers say: the grammars' sentences, and everything that is none of them."""

from collections.abc import Callable, Container, Mapping, Sequence
from pathlib import Path
from random import Random

from assistant.speech.grammars import ATTENTION, asks, grammar, lexicon
from assistant.speech.sampler import sample

Pronunciations = Mapping[str, Sequence[tuple[str, ...]]]

UNITS = "one two three four five six seven eight nine".split()
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
DIGITS = ["zero", *UNITS]
FRACTIONS = [
    *"a half,half,one half,a quarter,one quarter,three quarters,an eighth,one eighth".split(","),
    *(f"{top} eighths" for top in ("three", "five", "seven")),
    *(f"{top} sixteenths" for top in "three five seven nine eleven thirteen fifteen".split()),
    "a sixteenth",
    "one sixteenth",
]
OFTEN = {"pull": 10, "size": 10, "hold": 7, "figure": 6, "job": 5, "wall": 7, "openings": 7}
"""How often an ask is drawn; others 2."""
SHORTEST_LINE, LONGEST_LINE = 2, 8
"""Words of a line of other text."""
SHORT = 2
"""Words of a sentence that is drawn half as often as it would be."""
TRIES = 30
"""Sentences drawn until one of so few words comes."""
HESITANT_SHARE, HESITATION = 0.12, 0.35
"""Of the breaths, and of the words in those with a comma after them."""
NEAREST = 12
"""Near-misses kept for each word."""


def talk() -> list[str]:
    """Lines of ordinary talk, written for this project."""
    return Path(__file__).with_name("talk.txt").read_text(encoding="utf-8").split("\n")[:-1]


def lines(text: Sequence[Sequence[str]], known: Container[str], dice: Random) -> list[str]:
    """Running text (lists of words) cut into short lines; a line with a word that is not `known` is left out."""
    made = []
    for words in text:
        at = 0
        while at < len(words):
            size = dice.randint(SHORTEST_LINE, LONGEST_LINE)
            piece = words[at : at + size]
            at += size
            if len(piece) >= SHORTEST_LINE and all(word in known for word in piece):
                made.append(" ".join(piece))
    return made


def _below_hundred(dice: Random) -> str:
    tens = dice.choice(TENS)
    return dice.choice([dice.choice(UNITS), dice.choice(TEENS), tens, f"{tens} {dice.choice(UNITS)}"])


def number(dice: Random) -> str:
    """A number, a length or a fraction, every word and unit equally often; not always a sentence of a grammar."""
    part, small = dice.choice(FRACTIONS), dice.choice(UNITS + TEENS)
    inch = dice.choice(["", " inch", " inches"])
    hundred = dice.choice(["a", *UNITS]) + " hundred " + dice.choice(["", "and "]) + _below_hundred(dice)
    measure = dice.choice("millimetres centimetres percent degrees hours inches".split())
    forms = [
        f"{small} and {part}{inch}",
        f"{part}{inch}",
        f"{_below_hundred(dice)} {dice.choice(['feet', 'foot'])} {dice.choice(UNITS)}",
        f"{_below_hundred(dice)} feet {dice.choice(UNITS)} and {part}{inch}",
        f"{_below_hundred(dice)} {dice.choice(['metres', 'metre'])} {_below_hundred(dice)}",
        f"{dice.choice([_below_hundred(dice), hundred])} {measure}",
        f"{_below_hundred(dice)} by {_below_hundred(dice)}",
        f"{_below_hundred(dice)} point {dice.choice(DIGITS)}{dice.choice(['', ' percent', ' metres'])}",
        "job " + " ".join(dice.choice(DIGITS) for _ in range(dice.randint(1, 6))),
        f"{dice.choice(UNITS)} to {dice.choice(UNITS)} percent",
    ]
    return dice.choice(forms)


def near_misses(dictionary: Pronunciations, common: Mapping[str, int]) -> dict[str, list[str]]:
    """Words one phone away from each word of the grammars, the commonest first."""
    ours = lexicon()
    sounds = {each for forms in ours.values() for each in forms}
    by_length: dict[int, list[tuple[str, tuple[str, ...]]]] = {}
    for word, forms in dictionary.items():
        if word.isalpha() and len(word) > 2 and word not in ours and forms[0] not in sounds:
            by_length.setdefault(len(forms[0]), []).append((word, forms[0]))
    found = {}
    for word, forms in ours.items():
        size = len(forms[0])
        near = [each for n in (size - 1, size, size + 1) for each in by_length.get(n, [])]
        close = [other for other, sound in near if _one_off(forms[0], sound)]
        found[word] = sorted(close, key=lambda each: -common.get(each, 0))[:NEAREST]
    return found


def _one_off(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """Whether one phone put in, left out or replaced turns one into the other."""
    short, long = sorted((one, other), key=len)
    same = next((k for k, (a, b) in enumerate(zip(short, long, strict=False)) if a != b), len(short))
    return short[same + (len(one) == len(other)) :] == long[same + 1 :]


def aloud(told: Sequence[str], dice: Random, hesitant: float = HESITANT_SHARE) -> str:
    """The sentences of a breath as text to speak; the commas of a hesitant speaker (a share of all) are pauses."""
    text = ". ".join(told) + "."
    if dice.random() >= hesitant:
        return text
    return " ".join(f"{word}," if word[-1].isalpha() and dice.random() < HESITATION else word for word in text.split())


class Writer:
    """Draws sentences."""

    def __init__(
        self, other_text: Sequence[str], misses: Mapping[str, Sequence[str]], any_words: Sequence[str] = ()
    ) -> None:
        """`other_text`: English sentences free to use; `misses`: see `near_misses`; `any_words`: of a dictionary."""
        self._asks = [grammar(ask) for ask in asks()]
        self._often = [OFTEN.get(ask, 2) for ask in asks()]
        self._alone = [*self._asks, grammar(ATTENTION)]
        self._words = sorted(lexicon())
        self._text, self._talk, self._misses = other_text, talk(), misses
        self._close = sorted({word for each in misses.values() for word in each}) or ["carpet"]
        self._any = any_words or self._close

    def task(self, dice: Random) -> str:
        """A sentence of a grammar, or a number."""
        if dice.random() < 0.45:
            return number(dice)
        told = sample(dice.choices(self._asks, self._often)[0], dice)
        again = len(told.split()) <= SHORT and dice.random() < 0.5  # else the commands, legal at every ask, lead
        return sample(dice.choices(self._asks, self._often)[0], dice) if again else told

    def command(self, dice: Random) -> str:
        """A sentence of few words, of any ask alike; or an attention word."""
        source = dice.choice(self._alone)
        told = sample(source, dice)
        for _ in range(TRIES):
            if len(told.split()) <= SHORT:
                break
            told = sample(source, dice)
        return told

    def wrong(self, dice: Random) -> str:
        """A sentence of a grammar with one word replaced by a near-miss."""
        words = self.task(dice).split()
        place = dice.randrange(len(words))
        words[place] = dice.choice(self._misses.get(words[place]) or ["carpet"])
        return " ".join(words)

    def few(self, words: Sequence[str], dice: Random, most: int) -> str:
        """One to `most` of `words`, in no order."""
        return " ".join(dice.choice(words) for _ in range(dice.randint(1, most)))

    def sentence(self, dice: Random) -> tuple[str, str]:
        """(kind, text): over half is the task; 'task' and 'words' hold words of the grammars only."""
        kind = dice.random()
        if kind < 0.52:
            return "task", self.task(dice)
        if kind < 0.57:
            return "words", self.few(self._words, dice, 5)
        if kind < 0.70:
            return "text", dice.choice(self._text)
        if kind < 0.76:
            return "talk", dice.choice(self._talk)
        if kind < 0.85:
            return "near", self.wrong(dice)
        if kind < 0.90:
            return "near", self.few(self._close, dice, 3)
        if kind < 0.94:
            return "text", self.few(self._any, dice, 4)
        return "near", self.few([dice.choice(self._words), dice.choice(self._close), dice.choice(self._any)], dice, 5)

    def breath(self, dice: Random, symbols: int, size: Callable[[str], int]) -> tuple[str, list[str]]:
        """(kind, sentences) of one kind, spoken one after the other, up to about `symbols` by `size`; at least one."""
        kind, text = self.sentence(dice)
        told, used = [text], size(text)
        while used < symbols:
            other, text = self.sentence(dice)
            if other == kind:
                told.append(text)
                used += size(text)
        return kind, told
