"""Recordings fed to ears as from a microphone."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.core.meaning import Meaning
from assistant.exits import Exit, Refusal
from assistant.hearing.engines import open_engine
from assistant.hearing.manifest import Item
from assistant.hearing.sound import LEAD_S, TAIL_S, Condition, render
from assistant.hearing.trial import BLOCK, Engine, hear, run
from assistant.hearing.yardstick import plain_jsgf
from assistant.ports import RATE, Heard
from assistant.shelf import recordings_folder
from assistant.speech.grammars import asks, grammar
from assistant.speech.jsgf import read_grammar
from assistant.speech.sampler import count, sentences


@pytest.fixture
def item(tmp_path: Path) -> Item:
    soundfile.write(tmp_path / "noise.wav", np.random.default_rng(1).normal(0, 0.1, RATE), RATE)
    return Item(tmp_path / "noise.wav", "pull", "hooked", "hooked", "am_x", 7)


class Scripted:
    """Ears that hear one thing after so many blocks; never where that is None."""

    def __init__(self, after: int | None, last: Heard | None = None) -> None:
        self.after, self.last, self.fed, self.blocks = after, last, 0, list[int]()
        self.traits = {"margin": 1.5}

    def listen(self, ask: str) -> "Scripted":
        return self

    def feed(self, block: bytes) -> Heard | None:
        self.blocks.append(len(block))
        return Heard("hooked", Meaning("hooked"), 0.75, 0.0, 1.0) if len(self.blocks) == self.after else None

    def finish(self) -> Heard | None:
        return self.last


def test_the_first_utterance_counts_and_its_lateness_is_from_the_true_end(item: Item) -> None:
    ears = Scripted(after=50)
    found = hear(ears, item, Condition())
    assert (found.text, found.meaning, found.score, found.traits) == ("hooked", "hooked", 0.75, {"margin": 1.5})
    assert ears.blocks == [BLOCK] * 50
    assert found.late_s == pytest.approx(50 * BLOCK / 2 / RATE - render(item, Condition()).end_s, abs=0.02)
    assert found.right


def test_what_is_heard_when_the_stream_ends_counts_too(item: Item) -> None:
    ears = Scripted(None, Heard("[unk]", None, 0.5, 0.0, 1.0))
    found = hear(ears, item, Condition())
    assert (found.text, found.meaning, found.right) == ("[unk]", "none", False)
    assert sum(ears.blocks) == pytest.approx(2 * RATE * (1 + LEAD_S + TAIL_S), abs=BLOCK)


def test_nobody_heard_is_nothing(item: Item) -> None:
    found = hear(Scripted(None), item, Condition())
    assert (found.text, found.meaning, found.score, found.late_s) == ("", "none", 0.0, None)


def demo_item(text: str, ask: str, means: str) -> Item:
    folder = recordings_folder() / "demo"
    rows = (folder / "playlist.tsv").read_text(encoding="utf-8").splitlines()
    name = next(row.split("\t")[0] for row in rows if row.split("\t")[1] == text)
    return Item(folder / name, ask, text, means, "am_x", 3, "task")


def test_our_ears_in_one_process_and_in_two() -> None:
    items = [demo_item("yes", "confirm", "yes"), demo_item("hooked", "pull", "hooked")] * 13
    told: list[tuple[int, int]] = []
    found = run(Engine("ours"), items, [Condition()], lambda *each: told.append(each), cores=2)
    assert [each.item for each in found] == items  # in the order asked for
    assert all(each.right for each in found)
    assert told[-1] == (26, 26)
    single = run(Engine("ours"), items[:2], [Condition()], lambda *each: None, cores=1)
    assert [each.text for each in single] == [each.text for each in found[:2]]


def test_without_end_pointing_the_whole_recording_is_one_utterance() -> None:
    item = demo_item("hooked", "pull", "hooked")
    ears = open_engine("ours", None, whole=True)
    heard = ears.listen("pull")
    assert heard.feed(bytes(2 * RATE)) is None
    heard.feed(render(item, Condition()).samples + bytes(4 * RATE))
    found = heard.finish()
    assert found is not None
    assert (found.text, found.start_s) == ("hooked", 0.0)
    assert Engine("ours", whole=True).label == "ours without end-pointing"


def test_a_broken_recording_is_told_from_another_process(item: Item) -> None:
    item.file.write_bytes(b"no sound")
    with pytest.raises(Refusal, match=r"noise\.wav") as refused:
        run(Engine("ours"), [item] * 30, [Condition()], lambda *each: None, cores=2)
    assert refused.value.code is Exit.BAD_AUDIO


def test_vosk_needs_a_folder(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match="--model") as refused:
        open_engine("vosk", None)
    assert refused.value.code is Exit.USAGE
    with pytest.raises(Refusal, match="no such folder"):
        open_engine("vosk", tmp_path / "none")


@pytest.mark.parametrize("ask", [each for each in asks() if count(grammar(each)) < 2000])
def test_the_yardstick_has_the_same_sentences(ask: str) -> None:
    again = read_grammar(ask, {ask: plain_jsgf(grammar(ask)).replace(f"<{ask}_ask>", "<ask>")})
    assert {*sentences(again)} == {*sentences(grammar(ask))}


def test_the_yardstick_hears() -> None:
    pytest.importorskip("pocketsphinx", reason="extra yardstick not installed")
    ears = open_engine("pocketsphinx", None)
    assert hear(ears, demo_item("yes", "confirm", "yes"), Condition()).meaning == "yes"
    assert ears.listen("pull").finish() is None


def test_a_missing_yardstick_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "pocketsphinx", None)
    with pytest.raises(Refusal, match="yardstick") as refused:
        open_engine("pocketsphinx", None)
    assert refused.value.code is Exit.BAD_MODEL
