"""JSpeech Grammar Format (W3C Note, JSGF 1.0), the part this project uses.

Rules, sequences, alternatives, groups, optionals, tags and imports; no weights, no recursion, no Kleene operators:
every grammar here has finitely many sentences, so that it can be enumerated, compiled and proven.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property


class GrammarError(ValueError):
    """A grammar cannot be read; the message names the grammar, what is wrong and what would be right."""


@dataclass(frozen=True)
class Word:
    """One spoken word."""

    text: str
    """Lower-case spelling, as in the lexicon."""


@dataclass(frozen=True)
class Tag:
    """A mark on the meaning tape; it sounds like nothing."""

    text: str
    """What stands between the braces."""


RARE = Tag("rare")
"""Of an alternative that means the same without it: the sampler does not draw it. A form added to a grammar so leaves
what was drawn from it as it was."""


@dataclass(frozen=True)
class RuleRef:
    """A rule used by name."""

    name: str
    """'grammar.rule', always whole."""


@dataclass(frozen=True)
class Sequence:
    """Parts said one after the other."""

    parts: tuple["Expansion", ...]


@dataclass(frozen=True)
class Alternatives:
    """One of several ways to say it."""

    choices: tuple["Expansion", ...]


@dataclass(frozen=True)
class Optional:
    """Said or left out."""

    part: "Expansion"


Expansion = Word | Tag | RuleRef | Sequence | Alternatives | Optional


@dataclass(frozen=True)
class Grammar:
    """One ask's grammar with everything it imports."""

    name: str
    """Name after the keyword 'grammar', also the file's stem."""
    rules: Mapping[str, Expansion]
    """Every reachable rule by whole name."""

    @property
    def root(self) -> Expansion:
        """The public rule 'ask'.

        Raises GrammarError where the grammar has none.
        """
        return self.rule(f"{self.name}.ask")

    def rule(self, name: str) -> Expansion:
        """The rule called `name` ('grammar.rule')."""
        try:
            return self.rules[name]
        except KeyError:
            raise GrammarError(f"grammar {self.name}: rule <{name}> is used but not defined") from None

    @cached_property
    def vocabulary(self) -> frozenset[str]:
        """Every word that can be said here."""
        return frozenset(_words(self.root, self))


def _words(part: Expansion, grammar: Grammar) -> set[str]:
    match part:
        case Word(text):
            return {text}
        case Tag():
            return set()
        case RuleRef(name):
            return _words(grammar.rule(name), grammar)
        case Sequence(parts) | Alternatives(parts):
            return set().union(*(_words(each, grammar) for each in parts))
        case Optional(inner):
            return _words(inner, grammar)


def read_grammar(name: str, sources: Mapping[str, str]) -> Grammar:
    """Read grammar `name` and all it imports from `sources` (grammar name -> JSGF text).

    Raises GrammarError for unknown grammars, unknown rules, cycles and bad syntax.
    """
    rules: dict[str, Expansion] = {}
    waiting, done = [name], set[str]()
    while waiting:
        current = waiting.pop()
        if current in done:
            continue
        done.add(current)
        if current not in sources:
            raise GrammarError(f"grammar {current}: no such file; known are {', '.join(sorted(sources))}")
        imported, found = _GrammarReader(current, sources[current]).read()
        rules.update(found)
        waiting.extend(imported)
    grammar = Grammar(name, rules)
    _refuse_cycles(grammar)
    return grammar


def _refuse_cycles(grammar: Grammar) -> None:
    finished = set[str]()

    def visit(part: Expansion, path: tuple[str, ...]) -> None:
        match part:
            case RuleRef(name):
                if name in path:
                    raise GrammarError(f"grammar {grammar.name}: rule <{name}> uses itself")
                if name not in finished:
                    visit(grammar.rule(name), (*path, name))
                    finished.add(name)
            case Sequence(parts) | Alternatives(parts):
                for each in parts:
                    visit(each, path)
            case Optional(inner):
                visit(inner, path)
            case _:
                pass

    visit(grammar.root, (f"{grammar.name}.ask",))


_TOKEN = re.compile(r"\s*(?:(<[^<>\s]+>)|(\{[^{}]*\})|([=|()\[\];])|([A-Za-z][A-Za-z']*))")
_COMMENT = re.compile(r"//[^\n]*|/\*.*?\*/", re.DOTALL)
_HEADER = re.compile(r"#JSGF V1\.0[^;]*;\s*grammar\s+([\w.]+)\s*;")
_IMPORT = re.compile(r"import\s*<([\w.*]+)>\s*;")


class _GrammarReader:
    """One file's text -> imports and rules."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        text = _COMMENT.sub(" ", text)
        header = _HEADER.match(text.strip())
        if header is None or header[1] != name:
            raise GrammarError(f"grammar {name}: must begin '#JSGF V1.0; grammar {name};'")
        self.imports: list[str] = _IMPORT.findall(text)
        body = _IMPORT.sub(" ", text.strip()[header.end() :])
        self.tokens = self._tokens(body)
        self.at = 0

    def _tokens(self, body: str) -> list[str]:
        body, tokens, place = body.strip(), [], 0
        while place < len(body):
            found = _TOKEN.match(body, place)
            if found is None:
                raise GrammarError(f"grammar {self.name}: cannot read '{body[place : place + 30].strip()}'")
            tokens.append(found[0].strip())
            place = found.end()
        return tokens

    def read(self) -> tuple[list[str], dict[str, Expansion]]:
        rules: dict[str, Expansion] = {}
        self.local = {self.tokens[i - 1][1:-1] for i, token in enumerate(self.tokens) if token == "=" and i > 0}
        while self.at < len(self.tokens):
            if self._peek() == "public":
                self.at += 1
            rule = self._take()
            if not rule.startswith("<"):
                raise GrammarError(f"grammar {self.name}: '{rule}' where a rule '<name> = ...;' should begin")
            self._expect("=")
            name = f"{self.name}.{rule[1:-1]}"
            if name in rules:
                raise GrammarError(f"grammar {self.name}: rule {rule} is defined twice")
            rules[name] = self._alternatives()
            self._expect(";")
        return [each.rsplit(".", 1)[0] for each in self.imports], rules

    def _peek(self) -> str:
        return self.tokens[self.at] if self.at < len(self.tokens) else ""

    def _take(self) -> str:
        self.at += 1
        return self.tokens[self.at - 1] if self.at <= len(self.tokens) else ""

    def _expect(self, wanted: str) -> None:
        got = self._take()
        if got != wanted:
            near = " ".join(self.tokens[max(0, self.at - 5) : self.at + 3])
            raise GrammarError(f"grammar {self.name}: '{wanted}' expected, '{got}' found near '{near}'")

    def _alternatives(self) -> Expansion:
        choices = [self._sequence()]
        while self._peek() == "|":
            self.at += 1
            choices.append(self._sequence())
        return choices[0] if len(choices) == 1 else Alternatives(tuple(choices))

    def _sequence(self) -> Expansion:
        parts: list[Expansion] = []
        while self._peek() not in ("|", ")", "]", ";", ""):
            parts.append(self._item())
        if not parts:
            raise GrammarError(f"grammar {self.name}: an empty alternative; say at least one word")
        return parts[0] if len(parts) == 1 else Sequence(tuple(parts))

    def _item(self) -> Expansion:
        token = self._take()
        if token == "(":
            inner = self._alternatives()
            self._expect(")")
            return inner
        if token == "[":
            inner = self._alternatives()
            self._expect("]")
            return Optional(inner)
        if token.startswith("<"):
            return RuleRef(self._whole_name(token[1:-1]))
        if token.startswith("{"):
            return Tag(token[1:-1].strip())
        if token in ("=", "]", ")"):
            raise GrammarError(f"grammar {self.name}: '{token}' out of place")
        return Word(token.lower())

    def _whole_name(self, rule: str) -> str:
        if rule in self.local:
            return f"{self.name}.{rule}"
        exact = [each for each in self.imports if each.endswith(f".{rule}")]
        if exact:
            return exact[0]
        wild = [each[:-2] for each in self.imports if each.endswith(".*")]
        if not wild:
            raise GrammarError(f"grammar {self.name}: rule <{rule}> is neither defined nor imported")
        return f"{wild[0]}.{rule}"
