"""What is measured of two ears, on made-up outcomes."""

from pathlib import Path

import pytest

from assistant.hearing.manifest import NONE, Item
from assistant.hearing.outcome import Outcome, Share
from assistant.hearing.second_ear import Twice, listen_twice
from assistant.hearing.second_ear_page import costs_table, gains_table, per_thousand, second_ear_page
from assistant.hearing.sound import Condition
from assistant.shelf import recordings_folder
from assistant.speech.ears import VoskEars
from assistant.speech.second_ear import Opinion

YES = Item(Path("a.ogg"), "confirm", "yes", "yes", "af_heart", 1, "task")
TALK = Item(Path("b.ogg"), "confirm", "nice weather", NONE, "af_heart", 2, "talk")


def outcome(item: Item, meaning: str) -> Outcome:
    return Outcome(item, "clean", meaning, meaning, 0.9, 0.4)


def twice(item: Item, one: str, two: str, asked: bool = True) -> Twice:
    return Twice(outcome(item, one), outcome(item, two), asked, 0.1, 0.2 if asked else 0.0, 1.5 if asked else 0.0)


FOUND = [
    twice(YES, "yes", "yes", asked=False),
    twice(YES, "no", NONE),  # a wrong one caught
    twice(YES, "yes", NONE),  # a right one lost
    twice(YES, "no", "no"),  # a wrong one both took
    twice(TALK, "yes", NONE),
]


def cells(line: str) -> list[str]:
    return [each.strip() for each in line.strip("|").split("|")]


def test_the_gains_are_counted_a_thousand() -> None:
    one, two = map(cells, gains_table(FOUND).splitlines()[2:])
    assert [each.split()[0] for each in one[2:6]] == ["500", "1000", "0", "500"]
    assert [each.split()[0] for each in two[2:6]] == ["250", "0", "500", "250"]


def test_the_costs_count_only_what_was_asked() -> None:
    line = cells(costs_table(FOUND).splitlines()[2])
    assert line[1].startswith("75.0")
    assert line[2].startswith("100.0")
    assert line[3:6] == ["0.10", "0.20 / 0.20", "1.50 / 1.50 s"]
    assert line[6].startswith("100.0")


def test_wilson_a_thousand() -> None:
    """23 of 666: 34.5 a thousand, interval 23.1 to 51.3 (Wilson 1927; statsmodels' proportion_confint from memory)."""
    assert per_thousand(Share(23, 666)) == "35 (23-51)"
    assert per_thousand(Share(0, 0)) == "-"


def test_the_page_lists_what_got_through_and_what_was_lost() -> None:
    page = second_ear_page(FOUND, "the command", ("first", "second"), 12.3)
    assert "Written by `the command`" in page
    assert "because 12 processes" in page
    through, lost = page.split("### Wrong, and taken by both ears")[1].split("### Right, and lost by the second ear")
    assert through.count("| clean | confirm |") == lost.count("| clean | confirm |") == 1
    assert "Human speech" not in page.replace("not human speech", "")


class Contrary:
    """Says 'no' to everything."""

    name = "contrary"

    def hear(self, sound: bytes, ask: str, patience_s: float) -> Opinion:
        assert sound
        return Opinion("no", -1.0)


def test_the_same_utterance_is_judged_by_one_ear_and_by_two(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.speech.second_ear_rule.SURE", 1.1)  # asked every time
    rows = (recordings_folder() / "demo" / "playlist.tsv").read_text(encoding="utf-8").splitlines()
    file = recordings_folder() / "demo" / next(row.split("\t")[0] for row in rows if row.split("\t")[1] == "yes")
    item = Item(file, "confirm", "yes", "yes", "am_michael", 5, "task")
    (found,) = listen_twice(VoskEars(), Contrary(), [item], [Condition()])
    assert found.one.right
    assert found.asked
    assert found.two.meaning == NONE
    assert found.first_cpu_s > 0
