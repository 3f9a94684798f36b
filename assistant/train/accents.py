"""Accents: how people with another first language, or from another place, say some sounds of English.

The ways are common knowledge, from memory; they are drawn at random, none stands for a country. Symbols are Kokoro's.
"""

import re
from random import Random

Accent = tuple[tuple[str, str], ...]
"""(regular expression, what stands in its place), in order."""

SHARE = 0.15
"""Of the speakers have one, if no other share is asked for."""
EACH = 0.35
"""Probability that an accent has a way from one of `WAYS`."""
START, END = "(?<![^ ])", "(?= |$)"
"""Of a word."""
THETA = f"θ(?!s?{END})"
"""Not where a word ends: 'eighth' would be all but 'eight'."""

WAYS: tuple[tuple[Accent, ...], ...] = (
    (((THETA, "t"), ("ð", "d")), ((THETA, "s"), ("ð", "z")), ((THETA, "f"), ("ð", "v"))),
    ((("w", "v"),), (("w", "ʋ"), ("v", "ʋ"))),
    ((("ɹ", "ɾ"),), (("ɹ", "ʁ"),), (("ɹ", "r"),)),
    ((("ɪ", "i"), ("ʊ", "u")),),
    ((("æ", "ɛ"),), (("æ", "a"), ("ʌ", "a"))),
    ((("A", "e"), ("[OQ]", "o")),),
    (((f"v{END}", "f"), (f"z{END}", "s"), (f"d{END}", "t"), (f"b{END}", "p")),),
    (((f"{START}z", "s"),), ((f"{START}z", "ʦ"),)),
    (((f"{START}h", "x"),), ((f"{START}h", ""),)),
    ((("[əᵊ]", "ɛ"),), (("[əᵊ]", "a"),)),
    ((("ʧ", "ʃ"), ("ʤ", "ʒ")),),
    ((("ɜ", "ɛ"),), (("ɜ", "œ"),)),
    ((("t", "ʈ"), ("d", "ɖ")),),
    (((f"{START}s(?=[tpkm])", "ɛs"),),),
    ((("[ɑɒ](?![ːɹɾʁr])", "ɔ"),),),
)
"""Sounds that are said another way; of the ways in a row a speaker has one."""


def accent(dice: Random, share: float = SHARE) -> Accent:
    """Of a random speaker; only `share` of them have one."""
    if dice.random() >= share:
        return ()
    return tuple(rule for ways in WAYS if dice.random() < EACH for rule in dice.choice(ways))


def accented(symbols: str, ways: Accent) -> str:
    """Kokoro's symbols as said with an accent."""
    for sound, other in ways:
        symbols = re.sub(sound, other, symbols)
    return symbols
