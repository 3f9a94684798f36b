"""The JSGF reader: what it builds, and that every error names the thing."""

import pytest

from assistant.speech.jsgf import Alternatives, GrammarError, Optional, RuleRef, Sequence, Tag, Word, read_grammar


def source(body: str, name: str = "g") -> str:
    return f"#JSGF V1.0;\ngrammar {name};\n{body}"


def test_reads_every_construct() -> None:
    text = source("// note\n/* more\nnotes */ <a> = One {1} | two;\npublic <ask> = say (<a> | [please] three) {act=x};")
    grammar = read_grammar("g", {"g": text})
    assert grammar.rules["g.a"] == Alternatives((Sequence((Word("one"), Tag("1"))), Word("two")))
    choice = Alternatives((RuleRef("g.a"), Sequence((Optional(Word("please")), Word("three")))))
    assert grammar.root == Sequence((Word("say"), choice, Tag("act=x")))
    assert grammar.vocabulary == {"say", "one", "two", "please", "three"}


def test_imports_by_name_and_by_star() -> None:
    sources = {
        "g": source("import <h.b>;\nimport <i.*>;\n<own> = x;\npublic <ask> = <b> <c> <own>;"),
        "h": source("import <i.*>;\npublic <b> = <c> b;", "h"),
        "i": source("public <c> = c;", "i"),
    }
    grammar = read_grammar("g", sources)
    assert grammar.root == Sequence((RuleRef("h.b"), RuleRef("i.c"), RuleRef("g.own")))
    assert grammar.vocabulary == {"b", "c", "x"}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("grammar g; <ask> = x;", "grammar g: must begin '#JSGF V1.0; grammar g;'"),
        (source("<ask> = x;", "other"), "grammar g: must begin '#JSGF V1.0; grammar g;'"),
        (source("<ask> = 7;"), "grammar g: cannot read '7;'"),
        (source("<ask> = x*;"), r"grammar g: cannot read '\*;'"),
        (source("<ask> x;"), "grammar g: '=' expected, 'x' found near '<ask> x ;'"),
        (source("<ask> = x"), "grammar g: ';' expected, '' found near"),
        (source("<ask> = (x;"), r"grammar g: '\)' expected, ';' found"),
        (source("<ask> = [x;"), r"grammar g: '\]' expected, ';' found"),
        (source("<ask> = x | ;"), "grammar g: an empty alternative"),
        (source("<ask> = ();"), "grammar g: an empty alternative"),
        (source("<ask> = x <b> = y;"), "grammar g: '=' out of place|rule <b> is neither"),
        (source("<ask> = x = y;"), "grammar g: '=' out of place"),
        (source("ask = x;"), "grammar g: 'ask' where a rule"),
        (source("public"), "grammar g: '' where a rule"),
        (source("<ask> = x; <ask> = y;"), "grammar g: rule <ask> is defined twice"),
        (source("<ask> = <b>;"), "grammar g: rule <b> is neither defined nor imported"),
        (source("import <h.b>; <ask> = <b>;"), "grammar h: no such file; known are g"),
        (source("<other> = x;"), "grammar g: rule <g.ask> is used but not defined"),
        (source("<ask> = x [<b>]; <b> = (y | <ask>);"), "grammar g: rule <g.ask> uses itself"),
        (source("<ask> = <b>; <b> = y <b>;"), "grammar g: rule <g.b> uses itself"),
    ],
)
def test_errors_name_the_thing(text: str, message: str) -> None:
    with pytest.raises(GrammarError, match=message):
        read_grammar("g", {"g": text})


def test_an_imported_rule_that_is_missing_is_named() -> None:
    sources = {"g": source("import <h.*>; <ask> = <b>;"), "h": source("<c> = x;", "h")}
    with pytest.raises(GrammarError, match=r"grammar g: rule <h\.b> is used but not defined"):
        read_grammar("g", sources)


def test_an_unknown_grammar_is_named_with_the_known_ones() -> None:
    with pytest.raises(GrammarError, match="grammar zz: no such file; known are g, h"):
        read_grammar("zz", {"h": "", "g": ""})


def test_a_rule_used_twice_is_no_cycle() -> None:
    grammar = read_grammar("g", {"g": source("<ask> = <b> <b>; <b> = x;")})
    assert grammar.rule("g.b") == Word("x")
