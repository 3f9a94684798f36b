"""Words said against words heard: which were taken for which."""

from collections import Counter
from collections.abc import Iterable, Sequence

from assistant.speech.grammars import grammar
from assistant.speech.jsgf import Alternatives, Expansion, Grammar, Optional, RuleRef, Word
from assistant.speech.jsgf import Sequence as InOrder

NOTHING = "-"
"""Stands for a word that was left out or put in."""
Pair = tuple[str, str]


def aligned(said: Sequence[str], heard: Sequence[str]) -> list[Pair]:
    """Pairs (said, heard) of the cheapest alignment, every change costing one; NOTHING for a gap."""
    costs = [[0] * (len(heard) + 1) for _ in range(len(said) + 1)]
    for i in range(len(said) + 1):
        for j in range(len(heard) + 1):
            costs[i][j] = _cheapest(costs, said, heard, i, j)
    pairs, i, j = list[Pair](), len(said), len(heard)
    while i or j:
        if i and j and costs[i][j] == costs[i - 1][j - 1] + (said[i - 1] != heard[j - 1]):
            i, j = i - 1, j - 1
            pairs.append((said[i], heard[j]))
        elif i and costs[i][j] == costs[i - 1][j] + 1:
            i -= 1
            pairs.append((said[i], NOTHING))
        else:
            j -= 1
            pairs.append((NOTHING, heard[j]))
    return pairs[::-1]


def _cheapest(costs: list[list[int]], said: Sequence[str], heard: Sequence[str], i: int, j: int) -> int:
    if not i or not j:
        return i + j
    change = costs[i - 1][j - 1] + (said[i - 1] != heard[j - 1])
    return min(change, costs[i - 1][j] + 1, costs[i][j - 1] + 1)


def errors(said: Sequence[str], heard: Sequence[str]) -> int:
    """Words wrong, left out or put in."""
    return sum(one != other for one, other in aligned(said, heard))


def number_words() -> frozenset[str]:
    """Every word that carries a figure in the grammars."""
    source = grammar("size")
    rules = ("unit", "teen", "tens", "digit", "fraction", "hundreds")
    joints = {"a", "an", "and"}
    return frozenset().union(*(_words(source.rule(f"numbers.{each}"), source) for each in rules)) - joints


def _words(part: Expansion, source: Grammar) -> frozenset[str]:
    match part:
        case Word(text):
            return frozenset([text])
        case RuleRef(name):
            return _words(source.rule(name), source)
        case Optional(inner):
            return _words(inner, source)
        case Alternatives(parts) | InOrder(parts):
            return frozenset().union(*(_words(each, source) for each in parts))
    return frozenset()


def confused(texts: Iterable[Pair]) -> Counter[Pair]:
    """How often each number word was taken for another word, for nothing, or heard where none was said."""
    numbers, found = number_words(), Counter[Pair]()
    for said, heard in texts:
        pairs = aligned(said.split(), heard.split())
        found.update(each for each in pairs if each[0] != each[1] and numbers & {*each})
    return found
