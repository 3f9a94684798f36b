"""What is spoken for an evaluation."""

from collections import Counter
from pathlib import Path

import pytest

from assistant.exits import Refusal
from assistant.hearing.manifest import NONE, Item, meaning_of
from assistant.hearing.script import TALK, script
from assistant.speech.grammars import asks
from assistant.train.sentences import talk

VOICES = ("one", "two", "three")
FOLDER = Path("somewhere")


@pytest.fixture(scope="module")
def items() -> list[Item]:
    return script(FOLDER, VOICES, 41)


def test_enough_of_both_and_every_ask(items: list[Item]) -> None:
    assert sum(each.inside for each in items) >= 600
    assert sum(not each.inside for each in items) >= 300
    assert {each.ask for each in items if each.inside} == {*asks()}
    assert len({each.file for each in items}) == len({each.seed for each in items}) == len(items)


def test_the_main_job_counts_most(items: list[Item]) -> None:
    acts = Counter(each.meaning.split()[0] for each in items if each.inside)
    assert [act for act, _ in acts.most_common(4)] == ["size", "reading", "hold", "head"]


def test_every_text_means_what_it_says(items: list[Item]) -> None:
    for each in items:
        assert each.meaning == meaning_of(each.text, each.ask)
        assert (each.kind == "task") == (each.meaning != NONE)


def test_the_seed_decides(items: list[Item]) -> None:
    assert script(FOLDER, VOICES, 41) == items
    assert [each.text for each in items] != [each.text for each in script(FOLDER, VOICES, 42)]


def test_voices_take_turns_and_espeak_is_marked(items: list[Item]) -> None:
    spoken = Counter(each.voice for each in items)
    formant = {voice for voice in spoken if voice.startswith("espeak:")}
    assert {*spoken} - formant == {*VOICES}
    assert sum(spoken[each] for each in formant) < 0.06 * spoken.total()


def test_no_line_of_other_speech_was_trained_on_or_tuned_with() -> None:
    ours, tuning = (
        {row.split("\t")[2] for row in file.read_text(encoding="utf-8").splitlines() if not row.startswith("#")}
        for file in (TALK, TALK.with_name("development_talk.txt"))
    )
    assert not ours & {*talk()}
    assert not ours & tuning


@pytest.mark.parametrize(
    ("line", "why"), [("near\tpull\tthree eighths", "is a sentence of ask pull"), ("three eighths", "1 cells")]
)
def test_a_bad_line_of_other_speech_is_named(tmp_path: Path, line: str, why: str) -> None:
    file = tmp_path / "talk.txt"
    file.write_text(f"# kind ask words\ntalk\t-\thello there\n{line}\n", encoding="utf-8")
    with pytest.raises(Refusal, match=why) as refused:
        script(FOLDER, VOICES, 41, file)
    assert "line 3" in refused.value.line
