"""Docs that are made from code stay true to it."""

import re
from collections import Counter
from pathlib import Path

from assistant.cli import main
from assistant.core import trade
from assistant.exits import Exit
from assistant.sentence_page import page as sentences
from assistant.trade_page import page
from assistant.wording import messages

HOUSE = Path(__file__).parent.parent


def test_the_trade_page_is_up_to_date() -> None:
    assert (HOUSE / "docs" / "trade.md").read_text(encoding="utf-8") == page()


def test_no_figure_of_the_trade_page_is_without_use() -> None:
    code = "\n".join(each.read_text(encoding="utf-8") for each in (HOUSE / "assistant").rglob("*.py"))
    named = Counter(re.findall(r"\b[A-Z][A-Z_]+\b", code))
    assert [name for name, each in vars(trade).items() if isinstance(each, trade.Constant) and named[name] < 2] == []


def test_the_page_of_sentences_is_up_to_date_and_leaves_none_out() -> None:
    told = (HOUSE / "docs" / "sentences.md").read_text(encoding="utf-8")
    assert told == sentences()
    assert len(re.findall(r"^\| (?!said|---)", told, re.MULTILINE)) == len(messages())
    assert all(f"| {(say or '(only shown)').replace('|', '/')} |" in told for say, _, _ in messages().values())


def test_the_readme_lists_every_exit_code() -> None:
    readme = (HOUSE / "README.md").read_text(encoding="utf-8")
    listed = {int(code) for code in re.findall(r"^\| (\d+) \| ", readme, re.MULTILINE)}
    assert listed == {each.value for each in Exit}


def test_the_readme_names_only_commands_that_exist(capsys) -> None:  # type: ignore[no-untyped-def]
    readme = (HOUSE / "README.md").read_text(encoding="utf-8")
    try:
        main(["--help"])
    except SystemExit as stop:
        assert stop.code == 0
    known = capsys.readouterr().out
    for command in set(re.findall(r"`pullcall ([a-z]+)", readme)):
        assert re.search(rf"^\s+{command}\s", known, re.MULTILINE), command
