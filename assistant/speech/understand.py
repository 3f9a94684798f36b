"""Text -> meaning: a sentence is accepted whole by the ask's grammar, or not at all."""

from collections.abc import Iterable, Iterator

from assistant.core.meaning import Candidate, Meaning
from assistant.speech.jsgf import RARE, Alternatives, Expansion, Grammar, Optional, RuleRef, Sequence, Tag, Word
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


_TWINS = {
    one: other
    for teen, ty in zip(
        "thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split(),
        "thirty forty fifty sixty seventy eighty ninety".split(),
        strict=True,
    )
    for one, other in ((teen, ty), (ty, teen))
}
"""The pairs of number words that no ear can tell apart for certain."""


def twins(text: str, grammar: Grammar) -> tuple[Candidate, ...]:
    """The sentences of `grammar` that differ from `text` by a teen for a ty, or the other way, and in meaning."""
    words, meant = text.lower().split(), understand(text, grammar)
    swapped = (
        " ".join([*words[:at], _TWINS[each], *words[at + 1 :]]) for at, each in enumerate(words) if each in _TWINS
    )
    return tuple(each for each in candidates(swapped, grammar) if each.meaning != meant)


def candidates(texts: Iterable[str], grammar: Grammar) -> tuple[Candidate, ...]:
    """The sentences that mean something, in their order, one for each meaning."""
    found: dict[Meaning, Candidate] = {}
    for each in texts:
        meaning = understand(each, grammar)
        if meaning is not None:
            found.setdefault(meaning, Candidate(each, meaning))
    return tuple(found.values())


def goes_on(text: str, grammar: Grammar) -> bool:
    """Is `text` the begin of a longer sentence of `grammar`? A whole sentence may be one, too."""
    words = tuple(text.lower().split())
    return len(words) + 1 in _ends(grammar.root, grammar, words, 0)


def _ends(part: Expansion, grammar: Grammar, words: tuple[str, ...], at: int) -> set[int]:
    """Where `part` may end that begins at `at`; one past the words' number where it has more than were said."""
    if at > len(words):
        return {at}
    match part:
        case Word(text):
            return {at + 1} if at == len(words) or words[at] == text else set()
        case Tag():
            return {at}
        case RuleRef(name):
            return _ends(grammar.rule(name), grammar, words, at)
        case Optional(inner):
            return {at} | _ends(inner, grammar, words, at)
        case Alternatives(choices):
            return set[int]().union(*(_ends(each, grammar, words, at) for each in choices))
        case Sequence(parts):
            ends = {at}
            for each in parts:
                ends = set[int]().union(*(_ends(each, grammar, words, place) for place in ends))
            return ends


def _match(part: Expansion, grammar: Grammar, words: tuple[str, ...], at: int) -> Iterator[tuple[int, Tags]]:
    """Ways in which `part` covers words from `at`: (where it ends, tags met)."""
    match part:
        case Word(text):
            if at < len(words) and words[at] == text:
                yield at + 1, ()
        case Tag(text):
            yield at, () if part == RARE else (text,)
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
