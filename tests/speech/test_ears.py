"""Sound to meaning, on synthetic recordings."""

import gc
import json
import weakref
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.exits import Refusal
from assistant.hearing.manifest import Item, told
from assistant.hearing.sound import Condition, render
from assistant.hearing.trial import play
from assistant.ports import RATE
from assistant.shelf import recordings_folder
from assistant.speech.audio import read_audio
from assistant.speech.ears import VoskEars, VoskListener, hear_file
from assistant.speech.endpoint import WINDOW, Endpointer, EndRule
from assistant.speech.text_ears import TextEars

DEMO = recordings_folder() / "demo"
LOUD = np.full(WINDOW, 2000, "<i2").tobytes()


@pytest.fixture(scope="module")
def ears() -> VoskEars:
    return VoskEars()


class Scripted:
    """A recogniser that says what it was given to say, and remembers what it was fed."""

    def __init__(self, *results: list[tuple[str, float]], ends_at: int = -1, partial: str = "") -> None:
        self.partial = partial
        self.results = [
            json.dumps({"result": [{"word": w, "conf": c} for w, c in each]} if each else {}) for each in results
        ]
        self.fed, self.resets, self.calls, self.ends_at = b"", 0, 0, ends_at

    def AcceptWaveform(self, block: bytes) -> bool:  # noqa: N802 - vosk's name
        self.fed += block
        self.calls += 1
        return self.calls == self.ends_at

    def Result(self) -> str:  # noqa: N802 - vosk's name
        return self.results.pop(0)

    FinalResult = Result

    def PartialResult(self) -> str:  # noqa: N802 - vosk's name
        return json.dumps({"partial": self.partial})

    def Reset(self) -> None:  # noqa: N802 - vosk's name
        self.resets += 1


def listener(recogniser: Scripted, ask: str, likely: list[float]) -> VoskListener:
    left = iter(likely)
    return VoskListener(recogniser, ask, Endpointer(detector=lambda samples: next(left, 0.0)))


def test_the_score_is_that_of_the_worst_word() -> None:
    heard = listener(Scripted([("three", 1.0), ("eighths", 0.25)]), "pull", [0.9] * 10).feed(LOUD * 30)
    assert heard is not None
    assert heard.meaning is not None
    assert (heard.text, heard.score) == ("three eighths", 0.25)


@pytest.mark.parametrize("words", [[("[unk]", 1.0)], [("hooked", 1.0), ("[unk]", 1.0)], [("eighths", 0.9)]])
def test_what_the_grammar_does_not_accept_has_no_meaning(words: list[tuple[str, float]]) -> None:
    heard = listener(Scripted(words), "pull", [0.9] * 10).feed(LOUD * 30)
    assert heard is not None
    assert heard.meaning is None
    assert heard.text == " ".join(word for word, _ in words)


def test_noise_is_no_text_and_no_trust() -> None:
    heard = listener(Scripted([]), "pull", [0.9] * 10).feed(LOUD * 30)
    assert heard is not None
    assert (heard.text, heard.meaning, heard.score) == ("", None, 0.0)


def test_a_phrase_the_model_ended_by_itself_is_kept() -> None:
    ears = listener(Scripted([("three", 1.0)], [("eighths", 0.5)], ends_at=2), "pull", [0.9] * 10)
    heard = [each for each in (ears.feed(LOUD) for _ in range(60)) if each]
    assert [each.text for each in heard] == ["three eighths"]


PAUSED = [0.9] * 10 + [0.0] * 18 + [0.9] * 10
"""Speech, a pause of 0.58 s, speech."""


@pytest.mark.parametrize(
    ("partial", "windows"),
    [
        ("three", 38),  # no whole sentence yet: what follows the pause belongs to it
        ("three eighths", 10),  # whole
        ("three [unk]", 10),  # other talk, never whole
        ("", 10),  # noise without words
    ],
)
def test_a_pause_ends_only_what_may_end(partial: str, windows: int) -> None:
    recogniser = Scripted([("three", 1.0), ("eighths", 1.0)], partial=partial)
    heard = listener(recogniser, "pull", PAUSED).feed(LOUD * 90)
    assert heard is not None
    assert heard.end_s == pytest.approx(windows * WINDOW / RATE)


def test_what_never_becomes_whole_ends_all_the_same() -> None:
    """1.5 s after the last sound."""
    recogniser = Scripted([("three", 1.0)], partial="three")
    ears = listener(recogniser, "pull", [0.9] * 10)
    fed = next(count for count in range(1, 99) if ears.feed(LOUD) is not None)
    assert (fed - 10) * WINDOW / RATE == pytest.approx(1.5, abs=0.02)


FOUR_FEET = "four feet"
"""A whole size that may go on. Eight letters and three, 0.09 s each: slow from 0.99 s, or 31 windows."""


@pytest.mark.parametrize(
    ("ask", "partial", "spoken", "goes_on"),
    [
        ("size", FOUR_FEET, 31, True),
        ("size", FOUR_FEET, 30, True),  # an ordinary pace, but a figure that must not be wrong
        ("pull", "moved one inch", 43, True),  # twelve letters and three: slow from 1.35 s
        ("pull", "moved one inch", 42, False),  # at an ordinary pace 0.3 s are the end
        ("size", "four feet by", 10, True),  # no whole sentence, however fast
        ("square", "it is square", 60, False),  # whole, and nothing can follow
        ("size", "four feet [unk]", 60, True),  # not understood so far, and a figure is asked for
        ("size", "", 60, True),
        ("pull", "[unk]", 60, False),  # other talk
    ],
)
def test_a_slow_speaker_may_pause_where_the_sentence_may_go_on(
    ask: str, partial: str, spoken: int, goes_on: bool
) -> None:
    """'four feet ... by six': a pause of 0.58 s."""
    recogniser = Scripted([("four", 1.0), ("feet", 1.0)], partial=partial)
    heard = listener(recogniser, ask, [0.9] * spoken + [0.0] * 18 + [0.9] * 10).feed(LOUD * 150)
    assert heard is not None
    assert heard.end_s == pytest.approx((spoken + 28 * goes_on) * WINDOW / RATE)


@pytest.mark.parametrize("spoken", [40, 20])
def test_a_sentence_that_may_go_on_and_does_not_ends_after_the_longer_silence(spoken: int) -> None:
    ears = listener(Scripted([("four", 1.0), ("feet", 1.0)], partial=FOUR_FEET), "size", [0.9] * spoken)
    fed = next(count for count in range(1, 99) if ears.feed(LOUD) is not None)
    assert (fed - spoken) * WINDOW / RATE == pytest.approx(1.2, abs=0.02)


@pytest.mark.parametrize(
    ("partial", "longest_s"), [(FOUR_FEET, EndRule().long_figure_s), ("[unk]", EndRule().longest_s)]
)
@pytest.mark.parametrize("pieces", [[0.9] * 40 + [0.0] * 5, [0.9] * 45])
def test_sound_without_end_is_ended_hard_later_where_a_figure_is_being_said(
    partial: str, longest_s: float, pieces: list[float]
) -> None:
    """A machine that starts and stops, or does not: heard as words that may go on, and as none of ours."""
    ears = listener(Scripted([("four", 1.0), ("feet", 1.0)], partial=partial), "size", pieces * 20)
    fed = next(count for count in range(1, 999) if ears.feed(LOUD) is not None)
    assert fed * WINDOW / RATE == pytest.approx(longest_s, abs=WINDOW / RATE)


def test_a_listener_is_gone_as_soon_as_nobody_holds_it() -> None:
    """One that waits for the garbage collector keeps its recogniser: 120 MB more after a job of 60 utterances."""
    gc.disable()
    try:
        ears = listener(Scripted([("hooked", 1.0)], partial="hooked"), "pull", [0.9] * 10)
        ears.feed(LOUD * 30)
        gone = weakref.ref(ears)
        del ears
        assert gone() is None
    finally:
        gc.enable()


def test_an_utterance_is_told_once_and_silence_never() -> None:
    for likely, heard in (([0.9] * 10, ["hooked"]), ([], [])):
        ears = listener(Scripted([("hooked", 1.0)]), "pull", likely)
        told = [ears.feed(LOUD * 30), ears.finish(), ears.finish(), ears.feed(LOUD)]
        assert [each.text for each in told if each] == heard


def test_a_knock_is_forgotten_and_the_word_after_it_heard_even_in_one_block() -> None:
    recogniser = Scripted([("skip", 1.0)], [("hooked", 1.0)], ends_at=1)
    heard = listener(recogniser, "pull", [0.9] * 2 + [0.0] * 20 + [0.9] * 10).feed(LOUD * 60)
    assert heard is not None
    assert heard.text == "hooked"
    assert heard.start_s == pytest.approx(22 * WINDOW / RATE)
    assert recogniser.resets == 1


def test_a_recording_is_heard_at_its_ask_and_not_at_another(ears: VoskEars) -> None:
    file = DEMO / "09.ogg"
    text = next(row.split("\t")[1] for row in _rows() if row.startswith("09.ogg"))
    assert text == "yes"
    assert [each.text for each in hear_file(file, ears, "confirm")] == ["yes"]
    assert all(each.meaning is None for each in hear_file(file, ears, "job"))


HOOKED = ("20", "23", "36", "43")
"""Of four voices; the networks before took the last one's for 'head' and other speech."""


@pytest.mark.parametrize("number", HOOKED)
def test_hooked_said_alone_is_taken(ears: VoskEars, number: str) -> None:
    row = next(row.split("\t") for row in _rows() if row.startswith(f"{number}.ogg"))
    item = Item(DEMO / row[0], "pull", row[1], "hooked", row[2], seed=1, kind="task")
    heard, _ = play(render(item, Condition(), ()), ears.listen("pull"))
    assert heard is not None
    assert told(heard.meaning) == "hooked", heard


def _rows() -> list[str]:
    return (DEMO / "playlist.tsv").read_text(encoding="utf-8").splitlines()


def test_two_utterances_of_one_file_with_their_times(ears: VoskEars, tmp_path: Path) -> None:
    word = np.frombuffer(read_audio(DEMO / "09.ogg"), "<i2")
    silence = np.zeros(2 * RATE, "<i2")
    soundfile.write(tmp_path / "two.wav", np.concatenate([silence, word, silence, word, silence]), RATE)
    first, second = hear_file(tmp_path / "two.wav", ears, "confirm")
    assert first.text == second.text == "yes"
    assert second.start_s - first.start_s == pytest.approx(2 + len(word) / RATE, abs=0.1)
    assert 1.9 < first.start_s < first.end_s < 2.1 + len(word) / RATE


def test_noise_alone_is_nobody(ears: VoskEars, tmp_path: Path) -> None:
    soundfile.write(tmp_path / "noise.wav", np.random.default_rng(1).normal(0, 0.05, 3 * RATE), RATE)
    assert hear_file(tmp_path / "noise.wav", ears, "pull") == []


def test_a_bad_file_is_refused(ears: VoskEars, tmp_path: Path) -> None:
    with pytest.raises(Refusal):
        hear_file(tmp_path / "none.wav", ears, "pull")


def test_typed_words_split_over_blocks() -> None:
    typed = TextEars().listen("pull")
    assert typed.feed(b"Three  eigh") is None
    heard = typed.feed(b"ths\nhooked\n")
    assert heard is not None
    assert (heard.text, heard.score, heard.start_s, heard.end_s) == ("three eighths", 1.0, 0.0, 2.0)
    assert heard.meaning is not None


def test_an_empty_typed_line_is_noise() -> None:
    heard = TextEars().listen("pull").feed(b"\n")
    assert heard is not None
    assert (heard.text, heard.meaning, heard.score) == ("", None, 0.0)
