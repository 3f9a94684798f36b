"""Who speaks close by is told from others by loudness alone, and heard once more by itself."""

import json
from random import Random

import numpy as np
import pytest

from assistant.core.meaning import Candidate, Meaning
from assistant.hearing.manifest import NONE, Item, meaning_of, told
from assistant.hearing.sound import Condition, active_speech, at_microphone, render, samples_of
from assistant.hearing.trial import play
from assistant.ports import RATE, Heard, Listener
from assistant.practice.noises import radio
from assistant.shelf import recordings_folder
from assistant.speech.ears import VoskEars, VoskListener
from assistant.speech.endpoint import WINDOW, Endpointer, EndRule
from assistant.speech.foreground import AROUND, MOMENT, OVER_S, Nearest, close_by, quiet_s, speaks_up
from assistant.speech.grammars import asks, grammar
from assistant.speech.model import UNKNOWN
from assistant.speech.sampler import sample
from assistant.speech.trust import NAMES, Trust
from assistant.speech.understand import goes_on, understand
from assistant.wariness import as_question, sure

SOFT, LOUD = 1000, 2200
"""6.8 dB between them."""


def windows(*parts: tuple[int, int]) -> bytes:
    """(windows, level) one after the other."""
    signs = np.resize([1, -1], WINDOW)
    return b"".join((level * signs).astype("<i2").tobytes() * count for count, level in parts)


def test_the_loud_stretch_between_others_is_found() -> None:
    """A moment reaches half of MOMENT beyond it, less where most of it is soft; AROUND is kept besides."""
    found = close_by(windows((40, SOFT), (30, LOUD), (40, SOFT)), [True] * 110)
    assert found is not None
    for edge, true in zip(found, (40, 70), strict=True):
        assert abs(abs(edge - true) - AROUND) <= MOMENT // 2
    assert found[0] < 40 < 70 < found[1]


@pytest.mark.parametrize(
    ("parts", "speech"),
    [
        ([(40, SOFT), (30, LOUD), (40, SOFT)], range(35, 80)),  # nobody else: noise before and behind
        ([(40, SOFT), (30, 1200), (40, SOFT)], range(110)),  # 1.6 dB: no louder than others
        ([(4, SOFT), (4, LOUD)], range(8)),  # too short to tell
        ([], []),
    ],
)
def test_where_nobody_else_speaks_there_is_no_such_stretch(parts: list[tuple[int, int]], speech: range) -> None:
    sound = windows(*parts)
    assert close_by(sound, [at in speech for at in range(len(sound) // (2 * WINDOW))]) is None


@pytest.mark.parametrize(("level", "found"), [(9000, True), (30_000, False)])
def test_a_knock_hides_only_who_is_far_softer(level: int, found: bool) -> None:
    """32 ms at 12 dB above the voice, a thirteenth of its moments: 1 dB above. At 23 dB it is 12 above: a limit."""
    stretch = close_by(windows((20, SOFT), (1, level), (30, SOFT), (30, LOUD), (40, SOFT)), [True] * 121)
    assert stretch is not None
    assert (stretch[0] < 51 and stretch[1] > 81) is found


def test_a_pause_ends_the_stretch_and_the_longer_one_is_meant() -> None:
    found = close_by(windows((20, SOFT), (15, LOUD), (40, SOFT), (40, LOUD), (20, SOFT)), [True] * 135)
    assert found is not None
    assert found[0] > 20 + 15
    assert found[0] < 75 < 115 < found[1]


def test_how_long_it_has_been_quiet() -> None:
    assert quiet_s((10, 40), [True] * 60) == pytest.approx((60 - 40 + AROUND) * WINDOW / RATE)


@pytest.mark.parametrize(("last", "is_louder"), [([(25, SOFT)], False), ([(12, LOUD)], True), ([], False)])
def test_who_speaks_up_is_louder_than_most_of_it(last: list[tuple[int, int]], is_louder: bool) -> None:
    assert speaks_up(windows((60, SOFT), *last)) is is_louder
    assert speaks_up(windows((60, SOFT), (12, LOUD), (40, SOFT))) is False


class Hears:
    """A listener to whom everything is one utterance. Implements Listener."""

    speaking = True

    def __init__(self, heard: Heard | None, fed: list[bytes]) -> None:
        self.heard, self.fed = heard, fed

    def feed(self, block: bytes) -> Heard | None:
        self.fed.append(block)
        return None

    def finish(self) -> Heard | None:
        return self.heard


def heard(text: str, ask: str, score: float) -> Heard:
    return Heard(text, understand(text, grammar(ask)), score, 0.0, 1.0)


@pytest.mark.parametrize(
    ("text", "ask", "score", "taken"),
    [
        ("hooked", "pull", sure(1), True),
        ("hooked", "pull", sure(1) - 0.001, False),
        ("three eighths", "pull", 0.999, False),  # a figure: it may be the begin, or the end, of another
        ("job number seven zero", "job", 0.999, False),
        ("skip", "pull", 0.999, False),  # skip doorway
        ("yes", "confirm", sure(1), True),
    ],
)
def test_a_figure_and_what_may_go_on_is_asked_about(text: str, ask: str, score: float, taken: bool) -> None:
    said, fed = heard(text, ask, score), list[bytes]()
    assert said.meaning is not None
    nearest = Nearest(ask, lambda: Hears(said, fed))
    sound = windows((2, SOFT), (3, LOUD), (4, SOFT))
    assert nearest.hear(sound, (2, 5)) == (said if taken else as_question(said))
    assert fed == [windows((3, LOUD))]


@pytest.mark.parametrize("said", [None, Heard("[unk]", None, 0.0, 0.0, 1.0, (Candidate("yes", Meaning("yes")),))])
def test_what_is_no_sentence_is_nothing(said: Heard | None) -> None:
    assert Nearest("confirm", lambda: Hears(said, [])).hear(windows((9, LOUD)), (2, 5)) is None


def test_one_stretch_is_heard_once_and_another_anew() -> None:
    opened = list[Listener]()

    def anew() -> Listener:
        opened.append(Hears(heard("yes", "confirm", 1.0), []))
        return opened[-1]

    nearest = Nearest("confirm", anew)
    for stretch in ((2, 5), (2, 5), (2, 6)):
        nearest.hear(windows((9, LOUD)), stretch)
    assert len(opened) == 2


class Others:
    """A recogniser to whom all of it is other speech."""

    def AcceptWaveform(self, block: bytes) -> bool:  # noqa: N802 - vosk's name
        return False

    def FinalResult(self) -> str:  # noqa: N802 - vosk's name
        return json.dumps({"alternatives": [{"text": UNKNOWN, "confidence": 1.0, "result": []}]})

    def PartialResult(self) -> str:  # noqa: N802 - vosk's name
        return json.dumps({"partial": UNKNOWN})


def beside_talk(ask: str, said: Heard, *parts: tuple[int, int]) -> list[tuple[Heard, float]]:
    """What is heard, and after how many seconds, where speech never ends; `said` by a fresh listener to any stretch."""
    trust = Trust(dict.fromkeys(NAMES, 0.0), -9.0, accept=0.6, ask_again=0.5, model="x")
    ends = Endpointer(detector=lambda samples: 0.9)
    listener = VoskListener(Others(), ask, ends, trust, anew=lambda: Hears(said, []))
    sound = windows(*parts)
    for at in range(0, len(sound), 2 * WINDOW):
        if found := listener.feed(sound[at : at + 2 * WINDOW]):
            return [(found, at / 2 / RATE + WINDOW / RATE)]
    return []


@pytest.mark.parametrize(
    ("text", "ask", "score", "wait_s"),
    [
        ("hooked", "pull", 0.95, OVER_S),
        ("three eighths", "pull", 0.95, EndRule().ponder_s),  # may go on; slow, for the others' time counts
        ("four feet", "size", 0.95, EndRule().ponder_s),  # a figure that may go on, and must not be wrong
        ("hooked", "pull", 0.85, None),  # not sure enough to end it
    ],
)
def test_it_ends_a_while_after_the_loud_voice_though_others_go_on(
    text: str, ask: str, score: float, wait_s: float | None
) -> None:
    said = heard(text, ask, score)
    [(found, after_s)] = beside_talk(ask, said, (60, SOFT), (30, LOUD), (300, SOFT))
    longest_s = EndRule().longest_s
    assert after_s == pytest.approx(longest_s if wait_s is None else 90 * WINDOW / RATE + wait_s, abs=0.45)
    assert found.text == text
    assert found.maybe or found.meaning == said.meaning


@pytest.mark.parametrize(("begin", "longest_s"), [(240, 10.0), (20, 8.0)])
def test_who_speaks_up_is_not_cut_off_at_the_longest_time(begin: int, longest_s: float) -> None:
    """From 7.7 s to 9.2, and 0.6 s more; what was loud long before changes nothing. Nothing in it is understood."""
    others = Heard(UNKNOWN, None, 0.0, 0.0, 1.0)
    [(found, after_s)] = beside_talk("pull", others, (begin, SOFT), (47, LOUD), (300, SOFT))
    assert after_s == pytest.approx(longest_s, abs=0.3)
    assert found.meaning is None


def test_what_is_cut_off_while_it_is_said_is_not_heard_in_part() -> None:
    """Loud from 4.5 s on to the hard end at 12 s."""
    [(found, after_s)] = beside_talk("pull", heard("hooked", "pull", 1.0), (200, SOFT), (400, LOUD))
    assert (found.meaning, found.maybe) == (None, ())
    assert after_s <= EndRule().long_figure_s


@pytest.mark.parametrize("ask", asks())
def test_no_command_is_the_end_of_another_or_its_begin_where_nothing_may_follow(ask: str) -> None:
    """So a part of a command is never taken for another: only its begin could be, and that is asked about."""
    dice = Random(7)
    for text in {sample(grammar(ask), dice) for _ in range(1500)}:
        whole, words = understand(text, grammar(ask)), text.split()
        if whole is None or whole.quantities or whole.digits:
            continue
        for at in range(1, len(words)):
            assert understand(" ".join(words[at:]), grammar(ask)) in (None, whole), text
            begin = " ".join(words[:at])
            assert understand(begin, grammar(ask)) in (None, whole) or goes_on(begin, grammar(ask)), text


DEMO = recordings_folder() / "demo"
RADIO = sorted((recordings_folder() / "evaluation").glob("radio_*.ogg"))[:12]
BESIDE = Condition("radio", 10.0)
FIGURE = "three eighths"


@pytest.fixture(scope="module")
def ears() -> VoskEars:
    return VoskEars()


def demo(text: str, ask: str) -> Item:
    """The first of the demo's recordings of it."""
    rows = (line.split("\t") for line in (DEMO / "playlist.tsv").read_text(encoding="utf-8").splitlines())
    file = next(row[0] for row in rows if row[1] == text)
    return Item(DEMO / file, ask, text, meaning_of(text, ask), "demo", seed=5, kind="task")


def test_beside_a_radio_a_command_is_taken_and_a_figure_asked_about(ears: VoskEars) -> None:
    heard, _ = play(render(demo("hooked", "pull"), BESIDE, RADIO), ears.listen("pull"))
    assert heard is not None
    assert told(heard.meaning) == "hooked"
    figure = demo(FIGURE, "pull")
    heard, _ = play(render(figure, BESIDE, RADIO), ears.listen("pull"))
    assert heard is not None
    assert told(heard.meaning) == NONE
    assert told(heard.maybe[0].meaning) == figure.meaning


@pytest.mark.parametrize("begin_s", [4.0, 7.5])
def test_the_answer_comes_while_the_radio_goes_on(ears: VoskEars, begin_s: float) -> None:
    """At 7.5 s the longest that an utterance may last is near: who is speaking then is not cut off."""
    word = samples_of(demo("note seam", "pull").file)
    end, active = active_speech(word)
    sound = radio(20 * RATE, 3, [samples_of(each) for each in RADIO]) * active * 10 ** (-10 / 20)
    begin = round(begin_s * RATE)
    sound[begin : begin + len(word)] += word
    stream, listener, fed = at_microphone(sound, np.random.default_rng(1)), ears.listen("pull"), 0
    heard = list[tuple[str, float]]()
    for fed in range(0, len(stream), 1024):
        if found := listener.feed(stream[fed : fed + 1024]):
            heard.append((told(found.meaning), fed / 2 / RATE - begin_s - end / RATE))
            listener = ears.listen("pull")
    late_s = [late for meaning, late in heard if meaning == "note seam"]
    assert len(late_s) == 1
    assert late_s[0] < 2 * OVER_S  # and the radio goes on
