"""The table of spoken forms, legal and illegal."""

import tomllib

import pytest

from assistant.core.meaning import Meaning
from assistant.shelf import grammars_folder
from assistant.speech.grammars import asks, grammar
from assistant.speech.understand import understand

FORMS = tomllib.loads((grammars_folder() / "forms.toml").read_text(encoding="utf-8"))["form"]


def told(meaning: Meaning | None) -> str:
    """As the table writes it."""
    if meaning is None:
        return "illegal"
    figures = [f"{each.value} {each.unit}" for each in meaning.quantities]
    digits = f"#{meaning.digits}" if meaning.digits else ""
    return " ".join(each for each in (meaning.act, *figures, digits, meaning.word, meaning.manner) if each)


@pytest.mark.parametrize(
    ("ask", "words", "expected"), [pytest.param(*row[:3], id=f"{row[0]}: {row[1]}") for row in FORMS]
)
def test_form(ask: str, words: str, expected: str) -> None:
    assert told(understand(words, grammar(ask))) == expected


def test_the_table_is_whole() -> None:
    assert len(FORMS) >= 120
    assert all(len(row) == 4 and row[3] for row in FORMS)
    assert len({(ask, words) for ask, words, *_ in FORMS}) == len(FORMS)
    assert {ask for ask, *_ in FORMS} == {*asks()} - {"ready"}
