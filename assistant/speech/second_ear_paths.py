"""A grammar as paths of tokens: after each token, which may come next.

The grammar's algebra becomes a graph whose arcs are tokens (Thompson 1968), and is made deterministic step by step,
only where the search goes (the subset construction, lazily). Tags sound like nothing and are passed by.
"""

from collections.abc import Callable
from functools import cached_property

from assistant.speech.jsgf import Alternatives, Expansion, Grammar, Optional, RuleRef, Sequence, Tag, Word

Tokens = tuple[int, ...]
Spelt = Callable[[str], Tokens]
"""A word -> its tokens."""


class Place:
    """Where one stands in a grammar: after some tokens."""

    __slots__ = ("__dict__", "_nodes", "_paths")

    def __init__(self, nodes: frozenset[int], paths: "Paths") -> None:
        self._nodes, self._paths = nodes, paths

    @cached_property
    def whole(self) -> bool:
        """May the sentence end here?"""
        return self._paths.end in self._nodes

    @cached_property
    def onward(self) -> "dict[int, Place]":
        """Token -> where it leads."""
        found = dict[int, set[int]]()
        for node in self._nodes:
            for token, target in self._paths.arcs[node]:
                found.setdefault(token, set()).add(target)
        return {token: self._paths.place(targets) for token, targets in found.items()}


class Paths:
    """All sentences of one grammar as tokens."""

    def __init__(self, grammar: Grammar, spelt: Spelt) -> None:
        """Raises GrammarError where the grammar does."""
        self._grammar, self._spelt = grammar, spelt
        self.arcs: list[list[tuple[int, int]]] = []
        """Of each node its arcs: (token, target)."""
        self._free: list[list[int]] = []
        """Of each node where one gets without a token."""
        self._places = dict[frozenset[int], Place]()
        begin, self.end = self._node(), self._node()
        self._lay(grammar.root, begin, self.end)
        self.begin = self.place({begin})

    def place(self, nodes: set[int]) -> Place:
        """The place where `nodes` and all that is reached from them without a token are one."""
        closed, waiting = set(nodes), list(nodes)
        while waiting:
            for target in self._free[waiting.pop()]:
                if target not in closed:
                    closed.add(target)
                    waiting.append(target)
        # Only nodes with arcs, and the end, tell one place from another.
        key = frozenset(each for each in closed if self.arcs[each] or each == self.end)
        if key not in self._places:
            self._places[key] = Place(key, self)
        return self._places[key]

    def _node(self) -> int:
        self.arcs.append([])
        self._free.append([])
        return len(self.arcs) - 1

    def _lay(self, part: Expansion, here: int, there: int) -> None:
        match part:
            case Word(text):
                self._chain(self._spelt(text), here, there)
            case Tag():
                self._free[here].append(there)
            case RuleRef(name):
                self._lay(self._grammar.rule(name), here, there)
            case Optional(inner):
                self._free[here].append(there)
                self._lay(inner, here, there)
            case Alternatives(choices):
                for each in choices:
                    self._lay(each, here, there)
            case Sequence(parts):
                for each in parts[:-1]:
                    middle = self._node()
                    self._lay(each, here, middle)
                    here = middle
                self._lay(parts[-1], here, there)

    def _chain(self, tokens: Tokens, here: int, there: int) -> None:
        for token in tokens[:-1]:
            middle = self._node()
            self.arcs[here].append((token, middle))
            here = middle
        self.arcs[here].append((tokens[-1], there))
