"""Text -> meaning: a sentence is accepted whole by the ask's grammar, or not at all."""

from collections.abc import Iterator

from assistant.core.meaning import Meaning
from assistant.speech.jsgf import Alternatives, Expansion, Grammar, Optional, RuleRef, Sequence, Tag, Word
from assistant.speech.tape import add_up

Tags = tuple[str, ...]


def understand(text: str, grammar: Grammar) -> Meaning | None:
    """The meaning of `text` under `grammar`; None where the grammar does not accept it."""
    found = meanings(text, grammar)
    return found[0] if found else None


def meanings(text: str, grammar: Grammar) -> list[Meaning]:
    """Every distinct meaning of `text`, first parse first; a sound grammar gives at most one (tested)."""
    words = tuple(text.lower().split())
    ends = (tags for end, tags in _match(grammar.root, grammar, words, 0) if end == len(words))
    return list(dict.fromkeys(add_up(tags) for tags in ends))


def _match(part: Expansion, grammar: Grammar, words: tuple[str, ...], at: int) -> Iterator[tuple[int, Tags]]:
    """Ways in which `part` covers words from `at`: (where it ends, tags met)."""
    match part:
        case Word(text):
            if at < len(words) and words[at] == text:
                yield at + 1, ()
        case Tag(text):
            yield at, (text,)
        case RuleRef(name):
            yield from _match(grammar.rule(name), grammar, words, at)
        case Optional(inner):
            yield from _match(inner, grammar, words, at)
            yield at, ()
        case Alternatives(choices):
            for each in choices:
                yield from _match(each, grammar, words, at)
        case Sequence(parts):
            yield from _match_chain(parts, grammar, words, at)


def _match_chain(
    parts: tuple[Expansion, ...], grammar: Grammar, words: tuple[str, ...], at: int
) -> Iterator[tuple[int, Tags]]:
    if not parts:
        yield at, ()
        return
    for middle, tags in _match(parts[0], grammar, words, at):
        for end, more in _match_chain(parts[1:], grammar, words, middle):
            yield end, tags + more
