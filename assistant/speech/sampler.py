"""Sentences of a grammar: how many, all of them, or a random few.

One grammar is the source of the recogniser's graph, the tests, the training text and the evaluation set.
"""

from collections.abc import Iterator
from random import Random

from assistant.speech.jsgf import RARE, Alternatives, Expansion, Grammar, Optional, RuleRef, Sequence, Tag, Word


def count(grammar: Grammar) -> int:
    """Number of ways through the grammar (a sentence reachable in two ways counts twice)."""
    return _count(grammar.root, grammar)


def _count(part: Expansion, grammar: Grammar) -> int:
    match part:
        case Word() | Tag():
            return 1
        case RuleRef(name):
            return _count(grammar.rule(name), grammar)
        case Optional(inner):
            return 1 + _count(inner, grammar)
        case Alternatives(choices):
            return sum(_count(each, grammar) for each in choices)
        case Sequence(parts):
            ways = 1
            for each in parts:
                ways *= _count(each, grammar)
            return ways


def sentences(grammar: Grammar) -> Iterator[str]:
    """Every sentence, in the order of the file; repeats where the grammar is ambiguous."""
    for words in _enumerate(grammar.root, grammar):
        yield " ".join(words)


def _enumerate(part: Expansion, grammar: Grammar) -> Iterator[tuple[str, ...]]:
    match part:
        case Word(text):
            yield (text,)
        case Tag():
            yield ()
        case RuleRef(name):
            yield from _enumerate(grammar.rule(name), grammar)
        case Optional(inner):
            yield ()
            yield from _enumerate(inner, grammar)
        case Alternatives(choices):
            for each in choices:
                yield from _enumerate(each, grammar)
        case Sequence(parts):
            yield from _chains(parts, grammar)


def _chains(parts: tuple[Expansion, ...], grammar: Grammar) -> Iterator[tuple[str, ...]]:
    if not parts:
        yield ()
        return
    for first in _enumerate(parts[0], grammar):
        for rest in _chains(parts[1:], grammar):
            yield first + rest


def sample(grammar: Grammar, dice: Random) -> str:
    """One random sentence: every alternative of a choice that is not rare equally likely, an optional said half of the
    time.
    """
    return " ".join(_sample(grammar.root, grammar, dice))


def _sample(part: Expansion, grammar: Grammar, dice: Random) -> list[str]:
    match part:
        case Word(text):
            return [text]
        case Tag():
            return []
        case RuleRef(name):
            return _sample(grammar.rule(name), grammar, dice)
        case Optional(inner):
            return _sample(inner, grammar, dice) if dice.random() < 0.5 else []
        case Alternatives(choices):
            return _sample(dice.choice(_drawn(choices)), grammar, dice)
        case Sequence(parts):
            return [word for each in parts for word in _sample(each, grammar, dice)]


def _drawn(choices: tuple[Expansion, ...]) -> list[Expansion]:
    return [each for each in choices if not (isinstance(each, Sequence) and RARE in each.parts)]
