"""Commands that nobody gave: what is played, what is counted, and the page. All speech here is synthetic."""

from argparse import Namespace
from collections import Counter
from dataclasses import replace
from itertools import islice, pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from assistant.core.meaning import Meaning
from assistant.exits import Exit, Refusal
from assistant.hearing.__main__ import _parser
from assistant.hearing.background import ASK_S, PIECE_S, Talk, background, evaluation_talk, pieces
from assistant.hearing.background_listening import ASKS, MANNERS, OPEN_S, Executed, Found, Held, Listening, Piece
from assistant.hearing.background_page import background_page, rate, summary
from assistant.hearing.background_sound import GAP_S, KINDS, MINUTE_S, TEMPO, Stretch, stretches
from assistant.hearing.sound import at_microphone, samples_of
from assistant.ports import RATE, Heard
from assistant.practice.noises import NOISES
from assistant.shelf import recordings_folder
from assistant.speaker import Speaker
from assistant.speech.ears import VoskEars
from assistant.speech.endpoint import WINDOW

OPEN, AFTER_WORD = MANNERS
NO_TALK = Talk((), 0.0, 0)


# --- What is played ----------------------------------------------------------------------------------------------


@pytest.fixture
def tones(tmp_path: Path) -> list[Path]:
    """Five recordings of a second each."""
    files = [tmp_path / f"{each}.wav" for each in range(5)]
    for pitch, file in enumerate(files, 3):
        soundfile.write(file, 0.3 * np.sin(2 * np.pi * 100 * pitch * np.arange(RATE) / RATE), RATE)
    return files


@pytest.mark.parametrize("kind", KINDS)
def test_the_seed_decides_everything_and_the_length_is_kept(kind: str, tones: list[Path]) -> None:
    once, again, other = (list(stretches(kind, 70.5, (seed, 0, 0), tones)) for seed in (1, 1, 2))
    assert once == again
    assert once[0].samples != other[0].samples
    assert sum(len(each.samples) for each in once) == 2 * RATE * 70.5


def test_every_noise_plays_before_one_comes_again() -> None:
    names = [each.playing[0].what.split()[0] for each in stretches("noise", 12 * MINUTE_S, (1, 0, 0), [])]
    assert [Counter(names[:6]), Counter(names[6:])] == [Counter(list(NOISES))] * 2


def loudness(stretch: Stretch, begin_s: float, end_s: float) -> float:
    """Root mean square, decibels of full scale."""
    sound = np.frombuffer(stretch.samples, "<i2")[round(begin_s * RATE) : round(end_s * RATE)] / 32768
    return float(10 * np.log10(np.mean(sound**2) + 1e-12))


def test_a_noise_goes_from_the_level_told_to_the_other() -> None:
    for each in islice(stretches("noise", 6 * MINUTE_S, (4, 0, 0), []), 3):
        begin, end = (float(each.playing[0].what.split()[at]) for at in (1, 3))
        assert loudness(each, 0, 6) == pytest.approx(begin + (end - begin) / 20, abs=2)
        assert loudness(each, 54, 60) == pytest.approx(end - (end - begin) / 20, abs=2)


def test_talk_is_sentence_after_sentence_with_gaps(tones: list[Path]) -> None:
    for stretch in stretches("talk", 120, (1, 0, 0), tones):
        lengths = [each.end_s - each.begin_s for each in stretch.playing]
        gaps = [after.begin_s - before.end_s for before, after in pairwise(stretch.playing)]
        assert 1 / TEMPO[1] - 0.01 < min(lengths) < 0.95
        assert 1.05 < max(lengths) < 1 / TEMPO[0] + 0.01
        assert GAP_S[0] - 0.01 < min(gaps) < max(gaps) < GAP_S[1] + 0.01
    names = [each.what.split(",")[0] for each in next(stretches("talk", 60, (1, 0, 0), tones)).playing]
    assert {*names[:5]} == {each.name for each in tones}


def test_talk_is_where_it_is_told_to_be(tones: list[Path]) -> None:
    """In a minute whose noise is far below, the sentences stand out where `playing` has them."""
    apart = []
    for seed in range(4):
        stretch = next(stretches("talk", 60, (seed, 0, 0), tones))
        gaps = [(before.end_s, after.begin_s) for before, after in pairwise(stretch.playing)]
        said = np.mean([loudness(stretch, each.begin_s, each.end_s) for each in stretch.playing[:-1]])
        quiet = np.mean([loudness(stretch, begin + 0.7, end) for begin, end in gaps if end - begin > 1])
        apart.append(said - quiet)
    assert max(apart) > 10
    assert min(apart) > -6  # as loud as the noise, give or take how loud a sentence is


def test_radio_and_talk_need_recordings() -> None:
    for kind in ("radio", "talk"):
        with pytest.raises(ValueError, match=kind):
            next(stretches(kind, 60, (1, 0, 0), []))


# --- What is counted ---------------------------------------------------------------------------------------------


class Scripted:
    """Ears whose every utterance is half a second; what was said is looked up by when it ended, or nobody spoke."""

    def __init__(self, said: dict[float, str]) -> None:
        self.said, self.blocks, self.asked, self.begun = said, 0, list[str](), 0

    def listen(self, ask: str) -> "Scripted":
        self.asked.append(ask)
        self.begun = self.blocks
        return self

    @property
    def speaking(self) -> bool:
        return any(end - 0.5 <= self.passed_s < end for end in self.said)

    @property
    def passed_s(self) -> float:
        return self.blocks * WINDOW / RATE

    def feed(self, block: bytes) -> Heard | None:
        before, self.blocks = self.passed_s, self.blocks + len(block) // 2 // WINDOW
        text = next((text for end, text in self.said.items() if before < end <= self.passed_s), None)
        if text is None:
            return None
        meaning = None if text in ("", "[unk]") else Meaning(text)
        end = self.passed_s - self.begun * WINDOW / RATE
        return Heard(text, meaning, 0.75, end - 0.5, end)

    def finish(self) -> Heard | None:
        return None


PIECE = Piece("talk", 1, begin_s=720.0, seconds=96.0, ask_s=24.0, seed=1)
"""Turns 30 to 33: pull, size, pull, wall, 24 s each."""


def listened(manner: str, said: dict[float, str]) -> tuple[Found, Scripted]:
    found, ears = Found(), Scripted(said)
    listening = Listening(manner, PIECE, ears, found, Speaker(None, None, print))
    for _ in range(3):  # 32 s each, a thousand windows
        listening.hear_on(Stretch(bytes(2 * WINDOW * 1000), ()))
    return found, ears


def test_open_ears_execute_whatever_has_a_meaning() -> None:
    found, ears = listened(OPEN, {5.0: "hooked", 10.0: "[unk]", 20.0: "", 40.0: "no"})
    assert [(each.ask, each.text) for each in found.executed] == [("pull", "hooked"), ("size", "no")]
    assert found.executed[0].at_s == pytest.approx(720 + 4.5, abs=0.05)
    assert found.executed[1].at_s == pytest.approx(720 + 39.5, abs=0.05)
    assert [*dict.fromkeys(ears.asked)] == ["pull", "size", "wall"]
    whole = found.total(OPEN)
    assert (whole.seconds, whole.begun, whole.refused, whole.executed) == (pytest.approx(96), 4, 1, 2)
    assert whole.open_s == pytest.approx(96, abs=0.2)  # less the windows in which something was heard
    assert found.total(OPEN, "talk", "size").executed == 1
    assert found.total(OPEN, "noise").seconds == 0


def test_among_other_speech_what_is_not_sure_is_asked_about() -> None:
    found, _ = listened(OPEN, {5.0: "[unk]", 10.0: "hooked", 30.0: "hooked"})
    whole = found.total(OPEN)
    assert (whole.refused, whole.doubted, whole.executed) == (2, 1, 1)


def test_after_the_attention_word_the_ears_are_open_for_a_while() -> None:
    word = "hello tape measure"
    found, ears = listened(AFTER_WORD, {5.0: "hooked", 10.0: word, 12.0: "yes", 12.0 + OPEN_S + 2: "no", 60.0: "off"})
    assert [(each.manner, each.text) for each in found.executed] == [(AFTER_WORD, "yes")]
    assert ears.asked[0] == "attention"
    whole = found.total(AFTER_WORD)
    assert (whole.opened, whole.begun, whole.executed) == (1, 1, 1)
    assert whole.open_s == pytest.approx(2 + OPEN_S, abs=0.2)  # an understood answer opens anew


def test_another_attention_word_opens_nothing() -> None:
    found, _ = listened(AFTER_WORD, {10.0: "wake up stretcher", 12.0: "yes"})
    assert found.total(AFTER_WORD).opened == found.total(AFTER_WORD).executed == 0


def test_thirty_hours_are_equal_thirds_and_half_of_them_pulls() -> None:
    found = pieces(30, 1)
    assert {kind: sum(each.seconds for each in found if each.kind == kind) for kind in KINDS} == dict.fromkeys(
        KINDS, pytest.approx(36000)
    )
    assert all(each.seconds <= PIECE_S and each.ask_s == ASK_S for each in found)
    asked = Counter(ASKS[each.turn(at) % len(ASKS)] for each in found for at in np.arange(0, each.seconds, 60))
    assert {ask: times / 1800 for ask, times in asked.items()} == {
        ask: pytest.approx(ASKS.count(ask) / 12, abs=0.005) for ask in ASKS
    }
    assert ASKS.count("pull") == 6
    short = pieces(0.01, 1)
    assert {ASKS[each.turn(at) % len(ASKS)] for each in short for at in np.arange(0, 12, 0.5)} == {*ASKS}


# --- With the real ears ------------------------------------------------------------------------------------------


def spoken(text: str) -> Path:
    """The demo's recording of it."""
    rows = (recordings_folder() / "demo" / "playlist.tsv").read_text(encoding="utf-8").splitlines()
    return recordings_folder() / "demo" / next(row.split("\t")[0] for row in rows if row.split("\t")[1] == text)


COMMANDS = {kind: Talk((spoken("hooked"),), 1.0, 1) for kind in ("radio", "talk")} | {"noise": NO_TALK}
"""As if radio and people said a command: what must be taken."""


@pytest.fixture(scope="module")
def heard() -> Found:
    return background(0.01, 2, None, COMMANDS, lambda done, whole, found: None, cores=1)


def test_real_ears_take_a_command_from_the_radio(heard: Found) -> None:
    assert heard.total(OPEN, "noise").seconds == pytest.approx(12)
    assert heard.total(OPEN, "noise").executed == 0
    taken = [each for each in heard.executed if each.kind == "radio"]
    assert {(each.manner, each.ask, each.text) for each in taken} == {(OPEN, "pull", "hooked")}
    assert all(0 <= each.at_s < 12 and each.playing.startswith("radio") for each in taken)
    assert heard.total(AFTER_WORD).open_s == 0
    assert set(heard.worked_s) == {*KINDS}


def test_the_same_for_any_number_of_processes(heard: Found) -> None:
    told: list[tuple[int, int]] = []
    again = background(0.01, 2, None, COMMANDS, lambda done, whole, found: told.append((done, whole)), cores=2)
    assert (again.counts, again.executed) == (heard.counts, heard.executed)
    assert told == [(1, 3), (2, 3), (3, 3)]
    assert [each.kind for each in again.held] == [*KINDS]


def test_one_manner_alone_hears_the_same(heard: Found) -> None:
    seen = list[int]()

    def tell(done: int, whole: int, found: Found) -> None:
        seen.append(len(found.worked_s))

    open_only = background(0.01, 2, None, COMMANDS, tell, [OPEN], cores=1)
    assert open_only.counts == {key: each for key, each in heard.counts.items() if key[0] == OPEN}
    assert seen == [1, 2, 3], "what came of the pieces so far is told each time"


def test_real_ears_are_opened_by_the_attention_word() -> None:
    word = recordings_folder() / "attention" / "hello_tape_measure.ogg"
    parts = [(samples_of(each), np.zeros(2 * RATE)) for each in (spoken("hooked"), word, spoken("hooked"))]
    sound = at_microphone(np.concatenate([each for part in parts for each in part]) * 0.5, np.random.default_rng(1))
    found, piece = Found(), Piece("talk", 0, 0.0, 60.0, 60.0, 1)
    ears, speaker = VoskEars(), Speaker(None, None, print)
    for manner in MANNERS:
        Listening(manner, piece, ears, found, speaker).hear_on(Stretch(sound, ()))
    assert [(each.manner, each.text) for each in found.executed] == [(OPEN, "hooked")] * 2 + [(AFTER_WORD, "hooked")]
    assert found.executed[2] == replace(found.executed[1], manner=AFTER_WORD)  # the second one, heard no differently
    assert (found.total(OPEN).opened, found.total(AFTER_WORD).opened) == (0, 1)


def test_the_command_writes_its_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked, pages, file = [], list[str](), tmp_path / "new" / "background.md"

    def fake(hours: float, seed: int, model: None, talk: object, tell: Any, manners: list[str], *, two: bool) -> Found:
        asked.append((hours, seed, manners, two))
        for commands in (1, 2):
            tell(commands, 2, made_up(commands))
            pages.append(file.read_text(encoding="utf-8"))
        return made_up(2)

    monkeypatch.setattr("assistant.hearing.background.background", fake)
    monkeypatch.setattr("assistant.hearing.engines.open_ours", lambda model, two: Namespace(name=f"two {two}"))
    for more in ([], ["--second-ear", "--manner", "open"]):
        given = _parser().parse_args(["background", "--seed", "7", "--out", str(file.parent), *more])
        given.run(given)
    assert asked == [(30.0, 7, [*MANNERS], False), (30.0, 7, [OPEN], True)]
    assert "Written by `python -m assistant.hearing background --hours 30 --seed 7`" in pages[0]
    assert "background --hours 30 --seed 7 --second-ear --manner open`" in pages[2]
    assert "Ears: two True." in pages[2]
    assert summary(made_up(1)) in pages[0]
    assert summary(made_up(2)) in pages[1]


def test_the_ears_are_opened_once_beside_the_processes_that_hear(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once for their name, and so that a bad model is told before anything is heard."""
    opened = list[Path]()

    def ears(model: Path, *, two: bool) -> Namespace:
        opened.append(model)
        return Namespace(name=f"two {two}")

    for module in ("background", "engines"):
        monkeypatch.setattr(f"assistant.hearing.{module}.open_ours", ears)
    monkeypatch.setattr("assistant.hearing.background.spread", lambda *given: iter([made_up(1)]))
    given = _parser().parse_args(["background", "--second-ear", "--model", "older", "--out", str(tmp_path)])
    given.run(given)
    assert opened == [Path("older")]
    assert "Ears: two True." in (tmp_path / "background.md").read_text(encoding="utf-8")


def test_a_model_that_is_none_is_told_before_anything_is_heard(tmp_path: Path) -> None:
    given = _parser().parse_args(["background", "--model", str(tmp_path / "none"), "--out", str(tmp_path / "out")])
    with pytest.raises(Refusal, match="none: no such folder"):
        given.run(given)
    assert not (tmp_path / "out").exists()


def test_no_hours_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    for none in ("0", "-1", "nan", "inf"):
        with pytest.raises(SystemExit):
            _parser().parse_args(["background", "--hours", none])
        assert "more than 0" in capsys.readouterr().err


# --- The page ----------------------------------------------------------------------------------------------------


def made_up(commands: int) -> Found:
    """Ten hours of each kind, `commands` of them taken from the radio by open ears at pull; two processes."""
    found = Found(worked_s=dict.fromkeys(KINDS, 3600.0))
    for kind in KINDS:
        for manner in MANNERS:
            found.count(manner, kind, "pull").seconds = 36000.0
    found.count(OPEN, "radio", "pull").executed = commands
    found.executed = [Executed(OPEN, "radio", "pull", 100.0 + each, "hooked", 0.9, "radio") for each in range(commands)]
    found.held = [
        Held(71, "noise", 60, 200),
        Held(72, "noise", 61, 210),
        *(Held(71, "noise", 60, each) for each in (205, 206)),
    ]
    return found


def test_the_rate_has_the_exact_interval() -> None:
    """10 events: 4.795 to 18.39 (Garwood 1936); in 30 hours a thirtieth of it."""
    assert rate(made_up(10).total(OPEN)) == "0.33 (0.16-0.61)"
    assert rate(made_up(10).total(OPEN, "radio")) == "1.00 (0.48-1.84)"
    assert rate(made_up(0).total(AFTER_WORD)) == "0.00 (0.00-0.12)"
    assert rate(made_up(0).total(OPEN, "elsewhere")) == "-"


@pytest.mark.parametrize(("commands", "verdict"), [(0, "met, but the interval goes beyond it"), (6, "short by 0.10")])
def test_the_verdict(commands: int, verdict: str) -> None:
    assert summary(made_up(commands)).splitlines()[2].endswith(f"| {verdict} |")


def test_met_beyond_doubt() -> None:
    found = made_up(0)
    found.count(OPEN, "noise", "pull").seconds = 360000.0
    assert summary(found).splitlines()[2].endswith("| met |")


def test_the_page_tells_how_little_talk_it_is_and_lists_what_was_taken() -> None:
    talk = {"noise": NO_TALK, "radio": Talk((Path("a.ogg"), Path("b.ogg")), 228.0, 2), "talk": Talk((), 90.0, 1)}
    page = background_page(made_up(3), talk, "the command", "our model")
    assert "3.8 minutes of distinct talk (2 recordings, 2 voices) make 10.00 hours" in page
    assert "1.5 minutes of distinct talk" in page
    assert "synthetic speech, which is not human speech" in page
    always, after = page.split("## Ears after")
    assert always.count("| radio | 102.0 | pull | hooked | 0.90 | radio |") == 1
    assert "Nothing." in after
    assert "| 1 | 3 | 60 | 200, 205, 206 | - | - |\n| 2 | 1 | 61 | 210, 210, 210 | - | - |" in page
    assert "| radio | 10.00 | 6.0 |" in page


def test_the_evaluation_has_minutes_of_talk_not_hours() -> None:
    talk = evaluation_talk()
    assert not talk["noise"].files
    assert {each.name.split("_")[0] for each in talk["radio"].files} == {"radio"}
    assert len(talk["talk"].files) == 92
    assert 3 < talk["talk"].seconds / 60 < 5


def test_ears_that_fail_end_it() -> None:
    class Broken:
        def listen(self, ask: str) -> VoskEars:
            raise Refusal(Exit.NOT_WRITABLE, "/tmp: cannot be written")

    listening = Listening(OPEN, PIECE, Broken(), Found(), Speaker(None, None, print))  # type: ignore[arg-type]
    with pytest.raises(Refusal, match=r"^background: ! /tmp: cannot be written; nothing is heard"):
        listening.hear_on(Stretch(bytes(2 * RATE), ()))
