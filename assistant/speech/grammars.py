"""The shelf of grammars: reads the package's JSGF files and lexicon once."""

from functools import cache
from pathlib import Path

from assistant.shelf import grammars_folder
from assistant.speech.jsgf import Grammar, GrammarError, read_grammar

_SHARED = ("numbers", "lengths", "commands")
ATTENTION = "attention"
"""The grammar of the attention words, which is no ask's."""

CAREFUL = frozenset({"size", "wall", "square", "openings", "figure"})
"""Asks whose figures must not be wrong: every pull is planned and judged by them."""
CONFIRMED = CAREFUL - {"wall"}
"""Asks whose figures need an explicit yes each; a wall's need none, only the closed ring does."""


@cache
def _sources() -> dict[str, str]:
    return {file.stem: file.read_text(encoding="utf-8") for file in sorted(grammars_folder().glob("*.jsgf"))}


@cache
def grammar(ask: str) -> Grammar:
    """The grammar of one ask. Raises GrammarError for an unknown name."""
    return read_grammar(ask, _sources())


def asks() -> tuple[str, ...]:
    """Names of all asks that have a grammar."""
    return tuple(name for name in _sources() if name not in (*_SHARED, ATTENTION))


def listened_under() -> tuple[str, ...]:
    """Names of all grammars that ears listen under: one graph each."""
    return (*asks(), ATTENTION)


def vocabulary() -> frozenset[str]:
    """Every word that is listened for."""
    return frozenset().union(*(grammar(name).vocabulary for name in listened_under()))


def lexicon(file: Path | None = None) -> dict[str, tuple[tuple[str, ...], ...]]:
    """word -> its pronunciations as phones, from lexicon.txt.

    Raises GrammarError naming the words of the grammars that it lacks.
    """
    file = file or grammars_folder() / "lexicon.txt"
    table: dict[str, tuple[tuple[str, ...], ...]] = {}
    for line in file.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            word, *phones = line.split()
            table[word] = (*table.get(word, ()), tuple(phones))
    missing = sorted(vocabulary() - table.keys())
    if missing:
        raise GrammarError(f"{file.name} lacks {', '.join(missing)}: add a line 'word PHONE PHONE ...' for each")
    return table
