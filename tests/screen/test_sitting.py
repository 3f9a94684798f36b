"""One sitting behind every screen: taps and hearing in order, late ones told apart, nothing lost when a part fails."""

import errno
import threading
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from assistant.core import events as ev
from assistant.core.tone import PLAIN, Tone
from assistant.cues import Cue
from assistant.exits import Exit, Refusal
from assistant.hearer import AGAIN_S, Hearer
from assistant.orders import read_order
from assistant.ports import RATE, Heard
from assistant.record.codec import decode
from assistant.record.memory import MemoryStore
from assistant.screen.news import Listening, News, Sign, Trouble
from assistant.screen.panel import Panel
from assistant.sitting import Sitting
from assistant.speaker import Speaker
from assistant.speech.text_ears import TextEars
from assistant.wording import Wording
from tests.conftest import SETUP
from tests.screen.conftest import FullOnce


def started() -> ev.Started:
    return ev.Started("test", "none", read_order())


def wait_for(true: Callable[[], bool], what: str) -> None:
    until = time.monotonic() + 10
    while not true():
        assert time.monotonic() < until, f"waited in vain for {what}"
        time.sleep(0.005)


class Sound:
    """A loudspeaker that plays until it is hushed or let go."""

    def __init__(self) -> None:
        self.played: list[str] = []
        self.free = threading.Event()
        self.free.set()

    def play(self, wav: Path, wanted: Callable[[], bool]) -> None:
        self.played.append(wav.name)
        while not self.free.wait(0.005):
            if not wanted():
                self.played[-1] += " hushed"
                return


class Spoken:
    """A voice whose files are called by what they say."""

    def __init__(self, fails: bool = False) -> None:
        self._fails = fails

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        if self._fails:
            raise Refusal(Exit.NO_VOICE, "voice: the worker is gone")
        return Path(f"{'H ' if helper else ''}{text}")

    def close(self) -> None:
        pass


class Told:
    """What a screen was told."""

    def __init__(self) -> None:
        self.news: list[News] = []

    def __call__(self, news: News) -> None:
        self.news.append(news)

    @property
    def panels(self) -> list[Panel]:
        return [each for each in self.news if isinstance(each, Panel)]

    def panel(self, turn: int) -> Panel:
        wait_for(lambda: any(each.turn == turn for each in self.panels), f"turn {turn}")
        return next(each for each in self.panels if each.turn == turn)


class Bench:
    """A sitting with everything it needs."""

    def __init__(
        self,
        store: MemoryStore | None = None,
        sound: Sound | None = None,
        tones: Mapping[Cue, Path] | None = None,
        **options: Any,
    ) -> None:
        self.told = Told()
        self.store = store or MemoryStore()
        self.speaker = Speaker(Spoken() if sound else None, sound, lambda line: self.told(Trouble(line)), tones=tones)
        self.sitting = Sitting(self.store, started, self.speaker, self.told, lambda: "five words", **options)
        self.sitting.start()
        self.told.panel(0)

    def tap(self, *sentences: str) -> Panel:
        panel = self.told.panels[-1]
        for each in sentences:
            self.sitting.tap(panel.turn, each)
            panel = self.told.panel(panel.turn + 1)
        return panel

    def events(self) -> list[ev.Event]:
        return [decode(kind, payload) for kind, payload in self.store.rows()]


def test_taps_are_committed_as_such_and_answered_by_the_next_panel() -> None:
    bench = Bench()
    panel = bench.tap(*SETUP, "one inch")
    assert panel.content.value == "1 in"
    said = [each for each in bench.events() if isinstance(each, ev.Said)]
    assert [each.text for each in said] == [*SETUP, "one inch"]
    assert {each.by for each in said} == {"tap"}


def test_a_late_tap_is_told_and_not_taken_for_the_next_question() -> None:
    """Somebody taps 'hooked' twice, or taps while the same was said: the second must not hook the next pull."""
    bench = Bench()
    turn = bench.tap(*SETUP, "inch and a half").turn
    bench.sitting.tap(turn, "hooked")
    bench.sitting.tap(turn, "hooked")
    bench.told.panel(turn + 1)
    wait_for(lambda: any(isinstance(each, Trouble) for each in bench.told.news), "a word about it")
    bench.sitting.end()
    assert sum(isinstance(each, ev.Hooked) for each in bench.events()) == 1
    assert [each.line for each in bench.told.news if isinstance(each, Trouble)] == [
        "That came too late. Again, please. (hooked)"
    ]


def test_the_first_sign_comes_before_the_answer_is_durable() -> None:
    rows_at_sign: list[int] = []
    bench = Bench()
    inner = bench.told.__class__.__call__

    def watch(news: News) -> None:
        if isinstance(news, Sign):
            rows_at_sign.append(len(list(bench.store.rows())))
        inner(bench.told, news)

    bench.sitting._tell = watch
    bench.tap("job one")
    assert rows_at_sign == [1], "only Started is in the log"


def test_what_was_heard_at_an_earlier_question_is_late_too() -> None:
    bench = Bench()
    bench.tap("job one")
    heard = TextEars().listen("job").feed(b"job two\n")
    assert heard is not None
    bench.sitting.hear(0, heard)
    bench.sitting.hear(1, Heard("", None, 0.0, 0.0, 1.0))
    bench.sitting.end()
    assert [each.digits for each in bench.events() if isinstance(each, ev.JobNamed)] == ["1"]


def test_a_tap_stops_the_voice_and_what_waits_to_be_said() -> None:
    sound = Sound()
    bench = Bench(sound=sound)
    wait_for(lambda: len(sound.played) == 1, "the first question")
    sound.free.clear()
    bench.tap("job one")
    wait_for(lambda: len(sound.played) == 2, "the answer")
    bench.sitting.tap(1, "tufted")
    wait_for(lambda: sound.played[1] == "Job 1. hushed", "silence")
    sound.free.set()
    wait_for(lambda: "Tufted synthetic." in sound.played, "the next answer")
    bench.sitting.end()
    bench.speaker.finish(5)
    assert not [each for each in sound.played if each.startswith("What carpet")], "it waited, and was dropped"


def test_nothing_is_heard_while_it_speaks_and_while_the_room_rings() -> None:
    sound = Sound()
    speaker = Speaker(Spoken(), sound, lambda line: None)
    assert not speaker.deaf
    sound.free.clear()
    speaker.say(Wording("Hello.", "Hello.", True), PLAIN)
    assert speaker.deaf
    sound.free.set()
    wait_for(lambda: bool(sound.played), "the sound")
    assert sound.played == ["H Hello."]
    assert speaker.deaf, "the room still rings"
    wait_for(lambda: not speaker.deaf, "silence")
    speaker.say(Wording("", "only shown", False), PLAIN)
    assert not speaker.deaf


def test_alarms_are_made_into_sound_before_the_disk_is_full() -> None:
    made: list[str] = []

    class Writes(Spoken):
        def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
            made.append(text)
            return super().speak(text, helper=helper, tone=tone)

    sound = Sound()
    speaker = Speaker(Writes(), sound, lambda line: None, ("The disk is full.",))
    for text in ("Hello.", "Again."):
        speaker.say(Wording(text, text, False), PLAIN)
    speaker.finish(5)
    assert made == ["Hello.", "The disk is full.", "Again."]
    assert sound.played == ["Hello.", "Again."]


class Full(Spoken):
    """A voice on a disk that may be full: it has what it made before."""

    def __init__(self) -> None:
        super().__init__()
        self.full = False
        self.made: set[tuple[str, Tone]] = set()

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        if self.full and (text, tone) not in self.made:
            raise Refusal(Exit.NOT_WRITABLE, "voice folder: cannot be written (No space left on device)")
        self.made.add((text, tone))
        return Path(f"{text}{' louder' if tone.loudness else ''}")


def test_a_full_disk_drops_one_line_and_is_told_once_and_with_room_again_it_speaks() -> None:
    told: list[str] = []
    sound, voice = Sound(), Full()
    speaker = Speaker(voice, sound, told.append)

    def say(*texts: str) -> None:
        for each in texts:
            speaker.say(Wording(each, each, False), PLAIN)
        wait_for(lambda: speaker.unsaid == 0, "all of it")

    say("One.")
    voice.full = True
    say("Two.", "One.", "Three.")
    voice.full = False
    say("Two.")
    speaker.finish(5)
    assert sound.played == ["One.", "One.", "Two."]
    assert told == ["voice folder: cannot be written (No space left on device)"]


def test_an_alarm_that_cannot_be_made_louder_is_said_as_it_was_rehearsed() -> None:
    told: list[str] = []
    sound, voice = Sound(), Full()
    speaker = Speaker(voice, sound, told.append, ("The disk is full.", "The disk failed."))
    voice.full = True
    speaker.say(Wording("One.", "One.", False), PLAIN)
    wait_for(lambda: speaker.unsaid == 0, "a line that is not said")
    voice.full = False
    speaker.say(Wording("One.", "One.", False), PLAIN)
    wait_for(lambda: ("The disk failed.", PLAIN) in voice.made, "the rehearsal, which waited for room")
    voice.full = True
    for text in ("The disk is full.", "One.", "The disk failed."):
        speaker.say(Wording(text, text, False), Tone(loudness=1))
    speaker.finish(5)
    assert sound.played == ["One.", "The disk is full.", "The disk failed."]
    assert len(told) == 1


class Hangs(Spoken):
    """A voice whose worker hangs until it is let go, and is lost then while `lost`."""

    def __init__(self) -> None:
        super().__init__()
        self.free = threading.Event()
        self.free.set()
        self.asked: list[str] = []
        self.lost = False

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        self.asked.append(text)
        assert self.free.wait(10)
        if self.lost:
            raise Refusal(Exit.NO_VOICE, "voice: the worker gave no answer within 5 s")
        return super().speak(text, helper=helper, tone=tone)


def test_the_ears_are_open_while_the_voice_hangs_and_deaf_again_when_it_sounds() -> None:
    sound, voice = Sound(), Hangs()
    speaker = Speaker(voice, sound, lambda line: None, ringing_s=60)
    voice.free.clear()
    speaker.say(Wording("One.", "One.", False), PLAIN)
    assert speaker.deaf, "it is about to sound"
    wait_for(lambda: not speaker.deaf, "open ears")
    assert speaker.unsaid == 1 and sound.played == []
    sound.free.clear()
    voice.free.set()
    wait_for(lambda: bool(sound.played), "the sound")
    assert speaker.deaf
    sound.free.set()
    wait_for(lambda: speaker.unsaid == 0, "its end")
    assert speaker.deaf, "the room still rings"


def test_after_a_lost_worker_what_waited_is_dropped_save_alarms_and_the_next_line_is_said() -> None:
    told: list[str] = []
    sound, voice = Sound(), Hangs()
    speaker = Speaker(voice, sound, told.append, ("The disk is full.",), ringing_s=0.0, tones=TONES)

    def say(*texts: str) -> None:
        for each in texts:
            speaker.say(Wording(each, each, False), PLAIN)

    say("One.")
    wait_for(lambda: voice.asked[1:] == ["The disk is full."], "the rehearsal")
    for _ in range(2):
        voice.free.clear()
        say("Pull three.")
        wait_for(lambda: voice.asked[-1] == "Pull three.", "the voice being asked")
        say("What moved?", "The disk is full.")
        speaker.sound(Cue.TAKEN)
        say("Late.")
        voice.lost = True
        voice.free.set()
        wait_for(lambda: speaker.unsaid == 0, "the end of it")
        assert not speaker.deaf, "nothing sounds"
    voice.lost = False
    say("Hooked.", "Turn.")
    speaker.finish(5)
    assert sound.played == ["One.", "The disk is full.", "The disk is full.", "Hooked.", "Turn."]
    assert told == ["voice: the worker gave no answer within 5 s"]
    assert "Late." not in voice.asked


def test_a_loudspeaker_that_fails_is_named_and_left_alone_for_a_while() -> None:
    class Gone(Sound):
        def play(self, wav: Path, wanted: Callable[[], bool]) -> None:
            super().play(wav, wanted)
            if wav.name == "Two.":
                raise Refusal(Exit.NO_VOICE, "loudspeaker: does not play")

    told: list[str] = []
    sound, voice = Gone(), Hangs()
    speaker = Speaker(voice, sound, told.append, ("The disk is full.",))
    speaker.say(Wording("One.", "One.", False), PLAIN)
    wait_for(lambda: len(voice.asked) == 2, "the rehearsal")
    sound.free.clear()
    for text in ("Two.", "Three.", "The disk is full."):
        speaker.say(Wording(text, text, False), PLAIN)
    sound.free.set()
    wait_for(lambda: speaker.unsaid == 0, "the end of it")
    speaker.say(Wording("Four.", "Four.", False), PLAIN)
    speaker.finish(5)
    assert sound.played == ["One.", "Two."]
    assert told == ["loudspeaker: does not play"]


def test_a_loudspeaker_that_is_back_speaks_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each failure on end is waited out longer; one after it spoke again is told anew."""
    now, gone, told = [100.0], [True], list[str]()
    monkeypatch.setattr("assistant.speaker.time", SimpleNamespace(monotonic=lambda: now[0]))

    class Plugged(Sound):
        def play(self, wav: Path, wanted: Callable[[], bool]) -> None:
            super().play(wav, wanted)
            if gone[0]:
                raise Refusal(Exit.NO_VOICE, "loudspeaker: Device unavailable")

    sound = Plugged()
    speaker = Speaker(Spoken(), sound, told.append)

    def say(at: float) -> None:
        now[0] = at
        speaker.say(Wording(f"{at:g}", f"{at:g}", False), PLAIN)
        wait_for(lambda: speaker.unsaid == 0, "its end")

    for at in (100, 104.9, 105, 114.9, 115, 130, 134.9):
        say(at)
    assert sound.played == ["100", "105", "115"]
    gone[0] = False
    say(135)
    say(136)
    gone[0] = True
    say(137)
    say(142)
    speaker.finish(5)
    assert sound.played[3:] == ["135", "136", "137", "142"]
    assert told == ["loudspeaker: Device unavailable"] * 2


def test_a_voice_that_fails_is_named_once_and_the_job_goes_on() -> None:
    told: list[str] = []
    speaker = Speaker(Spoken(fails=True), Sound(), told.append)
    for _ in range(3):
        speaker.say(Wording("Hello.", "Hello.", False), PLAIN)
    speaker.finish(5)
    assert told == ["voice: the worker is gone"]


def test_one_line_that_goes_wrong_in_an_unforeseen_way_is_told_and_the_next_is_said() -> None:
    """Whatever it was: a thread that died would leave the assistant dumb, and deaf for ever."""

    class Trips(Sound):
        def play(self, wav: Path, wanted: Callable[[], bool]) -> None:
            if wav.name in ("Hello.", "tone done"):
                raise RuntimeError("Error opening:\nunknown format")
            super().play(wav, wanted)

    told: list[str] = []
    sound = Trips()
    speaker = Speaker(Spoken(), sound, told.append, tones=TONES)
    speaker.sound(Cue.DONE)
    for text in ("Hello.", "Again."):
        speaker.say(Wording(text, text, False), PLAIN)
    wait_for(lambda: speaker.unsaid == 0, "all three")
    wait_for(lambda: not speaker.deaf, "silence")
    speaker.finish(5)
    assert sound.played == ["Again."]
    why = "is not said (RuntimeError: Error opening: unknown format); read it on the screen"
    assert told == [f"voice: 'tone done' {why}", f"voice: 'Hello.' {why}"]


def test_a_closed_job_tells_its_code_and_ends_by_itself() -> None:
    sound = Sound()
    bench = Bench(sound=sound)
    bench.tap(*SETUP)
    while bench.told.panels[-1].ask != "close":
        bench.tap("ready" if bench.told.panels[-1].ask == "ready" else "skip doorway")
    panel = bench.tap("finish job")
    assert (panel.ask, panel.code) == ("", "five words")
    wait_for(lambda: bench.sitting.ended, "the end")
    assert bench.sitting.finished
    bench.speaker.finish(10)
    assert sound.played[-1] == "Job code: five words."
    bench.sitting.tap(panel.turn, "yes")


def test_a_job_is_resumed_at_its_question() -> None:
    store = MemoryStore()
    first = Bench(store)
    first.tap(*SETUP, "one inch")
    first.sitting.end()
    assert not first.sitting.finished
    second = Bench(store)
    assert second.told.panel(0).content.value == "1 in"
    assert second.told.panel(0).heard == ""


def test_a_disk_that_fails_is_told_and_ends_the_sitting() -> None:
    class Full(MemoryStore):
        def append(self, rows):  # type: ignore[no-untyped-def]
            if any(kind == "job_named" for kind, _ in rows):
                raise Refusal(Exit.NOT_WRITABLE, "hall.job: disk full")
            return super().append(rows)

    bench = Bench(Full())
    bench.sitting.tap(0, "job one")
    wait_for(lambda: bench.sitting.ended, "the end")
    assert [each.line for each in bench.told.news if isinstance(each, Trouble)] == ["hall.job: disk full"]
    assert len(bench.told.panels) == 1, "nothing was acknowledged"


def test_whatever_else_ends_the_sitting_is_said_and_told_and_logged(monkeypatch: pytest.MonkeyPatch) -> None:
    class Odd(MemoryStore):
        def append(self, rows):  # type: ignore[no-untyped-def]
            if any(kind == "job_named" for kind, _ in rows):
                raise OSError(errno.EIO, "Input/output\nerror")
            return super().append(rows)

    logged: list[Any] = []
    monkeypatch.setattr(threading, "excepthook", lambda died: logged.append(died.exc_type))
    sound = Sound()
    bench = Bench(Odd(), sound, tones=TONES)
    wait_for(lambda: bench.speaker.unsaid == 0, "silence")
    sound.played.clear()
    bench.sitting.tap(0, "job one")
    wait_for(lambda: bool(logged), "the traceback")
    assert bench.sitting.ended and not bench.sitting.finished
    bench.speaker.finish(10)
    assert sound.played == ["tone warning", "Something failed. Nothing more is recorded. Start again."]
    why = "OSError: [Errno 5] Input/output error"
    assert [each.line for each in bench.told.news if isinstance(each, Trouble)] == [
        f"! pullcall failed ({why}), the last answer may not be recorded; end it, then 'pullcall' resumes the job"
    ]
    assert logged == [OSError]
    assert len(bench.told.panels) == 1, "nothing was acknowledged"


def test_with_the_disk_full_nothing_is_acknowledged_and_the_same_tap_may_be_tried_again() -> None:
    sound = Sound()
    bench = Bench(FullOnce(), sound, tones=TONES)
    bench.sitting.tap(0, "job one")
    wait_for(lambda: any(isinstance(each, Trouble) for each in bench.told.news), "a word about it")
    wait_for(lambda: any("disk" in each.lower() for each in sound.played), "the alarm being said")
    assert sounded(sound) == [Cue.WARNING]
    told = [each.line for each in bench.told.news if isinstance(each, Trouble)]
    assert told == ["! hall.job: the disk is full; make room and say it again"], "a warning is never sound alone"
    assert len(bench.told.panels) == 1
    assert bench.tap("job one").place.job == "1"
    bench.sitting.end()


# --- Tones ------------------------------------------------------------------------------------------------------

TONES = {cue: Path(f"tone {cue}") for cue in Cue}
SIGNED = {f"tone {cue}": cue for cue in Cue}


def sounded(sound: Sound) -> list[Cue]:
    return [SIGNED[each] for each in sound.played if each in SIGNED]


def test_every_tone_has_its_sign_on_the_panel_and_every_sign_its_tone() -> None:
    sound = Sound()
    bench = Bench(sound=sound, tones=TONES)
    said = [*SETUP, "mumble", "six inches", "no", "two and a half inches", "two inches", "hooked", "skip", "skip pipe"]
    for each in said:
        wait_for(lambda: bench.speaker.unsaid == 0, "silence, for a tap hushes")
        bench.tap(each)
    bench.sitting.end()
    bench.speaker.finish(10)
    signs = [each.cue for each in bench.told.panels]
    assert signs[0] is None, "the first question answers nothing"
    assert sounded(sound) == signs[1:]
    assert set(signs[1:]) == set(Cue), "the walk has all four"


def test_a_tone_comes_before_the_words_and_is_not_heard_as_speech() -> None:
    sound = Sound()
    bench = Bench(sound=sound, tones=TONES)
    wait_for(lambda: bench.speaker.unsaid == 0, "silence")
    sound.free.clear()
    bench.tap("job one")
    wait_for(lambda: len(sound.played) == 2, "the tone")
    assert sound.played[-1] == "tone taken"
    assert bench.speaker.deaf
    sound.free.set()
    wait_for(lambda: len(sound.played) == 4, "the words")
    assert sound.played[1:3] == ["tone taken", "Job 1."]


def test_a_tap_hushes_a_tone() -> None:
    sound = Sound()
    speaker = Speaker(Spoken(), sound, lambda line: None, tones=TONES)
    sound.free.clear()
    speaker.sound(Cue.DONE)
    wait_for(lambda: bool(sound.played), "the tone")
    speaker.hush()
    wait_for(lambda: sound.played == ["tone done hushed"], "silence")


def test_without_tones_the_signs_are_seen_all_the_same() -> None:
    sound = Sound()
    bench = Bench(sound=sound)
    assert bench.tap("job one").cue is Cue.TAKEN
    assert bench.tap("mumble").cue is Cue.ASKED
    bench.sitting.end()
    bench.speaker.finish(10)
    assert sounded(sound) == []


def test_silence_has_no_tone() -> None:
    sound = Sound()
    bench = Patient(sound, tones=TONES)
    wait_for(lambda: not bench.speaker.deaf, "silence")
    bench.silent(20)
    assert bench.missed(1).cue is None
    bench.sitting.end()
    bench.speaker.finish(10)
    assert sounded(sound) == []


# --- Ears -------------------------------------------------------------------------------------------------------


class Line:
    """Blocks of 'sound' that the text ears read; the level is that of the samples."""

    def __init__(self, *blocks: bytes, then: Exception | None = None) -> None:
        self.blocks, self.then = list(blocks), then
        self.pulled = threading.Semaphore(0)

    def __iter__(self):  # type: ignore[no-untyped-def]
        for each in self.blocks:
            self.pulled.acquire()
            yield each
        if self.then:
            raise self.then


def test_ears_hear_at_the_question_that_is_open() -> None:
    bench = Bench()
    line = Line(b"job ", b"one\n", b"tufted \n")
    hearer = Hearer(line, TextEars(), bench.sitting, bench.speaker, bench.told)
    hearer.start()
    line.pulled.release(2)
    bench.told.panel(1)
    line.pulled.release(1)
    assert bench.told.panel(2).heard == "tufted"
    assert {each.by for each in bench.events() if isinstance(each, ev.Said)} == {"voice"}
    hearer.stop()


def test_what_began_before_a_tap_is_not_heard_on_at_the_next_question() -> None:
    bench = Bench()
    line = Line(b"woven ", b"tufted \n")
    hearer = Hearer(line, TextEars(), bench.sitting, bench.speaker, bench.told)
    hearer.start()
    line.pulled.release(1)
    time.sleep(0.05)
    bench.tap("job one")
    line.pulled.release(1)
    assert bench.told.panel(2).heard == "tufted"


def test_ears_are_deaf_while_the_assistant_speaks() -> None:
    sound = Sound()
    bench = Bench(sound=sound)
    sound.free.clear()
    bench.speaker.say(Wording("Hello.", "Hello.", False), PLAIN)
    line = Line(b"job one\n", b"", b"", b"job two\n")
    hearer = Hearer(line, TextEars(), bench.sitting, bench.speaker, bench.told)
    hearer.start()
    line.pulled.release(3)
    wait_for(lambda: any(isinstance(each, Listening) and each.deaf for each in bench.told.news), "the level")
    sound.free.set()
    wait_for(lambda: not bench.speaker.deaf, "silence")
    line.pulled.release(1)
    assert bench.told.panel(1).heard == "job two"


def test_the_level_is_that_of_the_loudest_sample() -> None:
    bench = Bench()
    samples = np.array([0, 16384, -8192], dtype="<i2").tobytes()
    line = Line(b"\0\0", samples, b"\0\0")
    Hearer(line, Deaf(), bench.sitting, bench.speaker, bench.told).start()  # type: ignore[arg-type]
    line.pulled.release(3)
    wait_for(lambda: any(isinstance(each, Listening) for each in bench.told.news), "the level")
    assert next(each for each in bench.told.news if isinstance(each, Listening)) == Listening(0.5, deaf=False)


def test_a_level_that_is_wrong_is_told_with_the_level_until_an_utterance_is_in_order() -> None:
    bench = Bench()

    class Words:
        """Every third block is an utterance of it and the two before."""

        speaking = False

        def listen(self, ask: str) -> "Words":
            self.blocks = 0
            return self

        def feed(self, block: bytes) -> Heard | None:
            self.blocks += 1
            return Heard("mumble", None, 0.5, 0.032, 0.064) if self.blocks == 3 else None

    def sound(peak: int) -> bytes:
        return np.full(512, peak, "<i2").tobytes()

    peaks = (0, 500, 9000), (0, 500, 0), (0, 32767, 0), (0, 9000, 500), (0, 0, 0)
    line = Line(*(sound(each) for three in peaks for each in three))
    # A desk that asks one question for ever: an answer in between would begin the blocks anew.
    desk = SimpleNamespace(open_question=(0, "job"), hear=lambda *_: None, listened=lambda *_: None)
    Hearer(line, Words(), desk, bench.speaker, bench.told).start()  # type: ignore[arg-type]
    line.pulled.release(len(line.blocks))
    wait_for(lambda: sum(isinstance(each, Listening) for each in bench.told.news) == 5, "the level")
    hints = [each.hint.partition(".")[0] for each in bench.told.news if isinstance(each, Listening)]
    assert hints == ["", "Too quiet", "Too quiet", "Too loud", ""]


class Deaf:
    speaking = False

    def listen(self, ask: str) -> "Deaf":
        return self

    def feed(self, block: bytes) -> None:
        return None


@pytest.mark.parametrize(
    ("end", "line"),
    [
        (
            Refusal(Exit.BAD_AUDIO, "microphone 'usb': no sound comes any more"),
            "! microphone 'usb': no sound comes any more; tap instead, and start pullcall again to be heard",
        ),
        (
            OSError(12, "Cannot allocate memory"),
            "! ears: OSError: [Errno 12] Cannot allocate memory; tap instead, and start pullcall again to be heard",
        ),
    ],
)
def test_a_microphone_that_ends_is_named_aloud_too_and_taps_finish_the_job(end: Exception, line: str) -> None:
    sound = Sound()
    bench = Bench(sound=sound, tones=TONES)
    blocks = Line(b"job ", then=end)
    Hearer(blocks, TextEars(), bench.sitting, bench.speaker, bench.told).start()
    blocks.pulled.release(1)
    wait_for(lambda: any(isinstance(each, Listening) for each in bench.told.news), "a word about it")
    assert [each.line for each in bench.told.news if isinstance(each, Trouble)] == [line]
    closed = Listening(0.0, deaf=False, waits="Nothing is heard. Tap meanwhile.")
    assert [each for each in bench.told.news if isinstance(each, Listening)][-1] == closed
    wait_for(lambda: "I cannot hear. Tap meanwhile." in sound.played, "the spoken warning")
    assert sound.played[sound.played.index("I cannot hear. Tap meanwhile.") - 1] == "tone warning"
    assert bench.tap("job one", "tufted").ask == "figure"


FULL = Refusal(Exit.NOT_WRITABLE, "/tmp: cannot be written (No space left on device); free it or set TMPDIR")


class Failing(TextEars):
    """Ears that fail as often as they are told to, to listen or in the midst of it."""

    def __init__(self, error: Exception, listens: int = 0, feeds: int = 0) -> None:
        self.error, self.listens, self.feeds, self.tries = error, listens, feeds, 0

    def listen(self, ask: str) -> Any:
        self.tries += 1
        if self.tries <= self.listens:
            raise self.error
        inner, failing = super().listen(ask), self

        class Listener:
            speaking = False

            def feed(self, block: bytes) -> Heard | None:
                failing.feeds -= 1
                if failing.feeds >= 0:
                    raise failing.error
                return inner.feed(block) if block.strip() else None

        return Listener()


@pytest.mark.parametrize(
    ("ears", "told"),
    [
        (Failing(FULL, listens=2), FULL.line),
        (Failing(ValueError("odd"), feeds=2), "ears: ValueError: odd"),
    ],
    ids=["listen", "feed"],
)
def test_ears_that_fail_are_told_once_and_tried_again_until_they_hear(ears: Failing, told: str) -> None:
    """The pause between two tries is counted by the sound: four blocks here."""
    sound = Sound()
    bench = Bench(sound=sound)
    wait_for(lambda: not bench.speaker.deaf, "silence")
    line = Line(b"job one\n", *[b" " * round(2 * RATE * AGAIN_S / 4)] * 8, b"job two\n", b"")
    hearer = Hearer(line, ears, bench.sitting, bench.speaker, bench.told)
    hearer.start()
    line.pulled.release(1)
    wait_for(lambda: any(isinstance(each, Trouble) for each in bench.told.news), "a word about it")
    wait_for(lambda: sound.played[-1:] == ["I cannot hear. Tap meanwhile."], "the spoken warning")
    wait_for(lambda: not bench.speaker.deaf, "silence")
    line.pulled.release(4)
    wait_for(lambda: ears.tries == 2, "the second try")
    line.pulled.release(4)
    wait_for(lambda: sound.played[-1:] == ["I hear again."], "the good news")
    wait_for(lambda: not bench.speaker.deaf, "silence")
    line.pulled.release(1)
    assert bench.told.panel(1).heard == "job two"
    assert ears.tries == 3
    line.pulled.release(1)
    wait_for(lambda: any(isinstance(each, Listening) and each.gone for each in bench.told.news), "the last block")
    closed = [each.waits for each in bench.told.news if isinstance(each, Listening)]
    assert closed == [*["Nothing is heard. Tap meanwhile."] * 3, ""]
    troubles = [each.line for each in bench.told.news if isinstance(each, Trouble)]
    assert troubles == [f"! {told}; nothing is heard, tap meanwhile", "I hear again."]
    hearer.stop()


# --- Silence ----------------------------------------------------------------------------------------------------

WAIT_S = 20.0
QUIET = bytes(2 * RATE)
"""A second of it."""


class Patient(Bench):
    """A sitting that asks again after WAIT_S of silence, with ears that hear only silence, block by block."""

    def __init__(
        self, sound: Sound | None = None, wait_s: Callable[[str], float] = lambda ask: WAIT_S, **options: Any
    ) -> None:
        super().__init__(sound=sound, wait_s=wait_s, **options)
        self.mute = Mute()
        self.line = Line(*[QUIET] * 500)
        self.hearer = Hearer(self.line, self.mute, self.sitting, self.speaker, self.told)  # type: ignore[arg-type]
        self.hearer.start()

    def silent(self, seconds: int) -> None:
        """So many blocks are heard, and no more."""
        fed = self.mute.fed + seconds
        self.line.pulled.release(seconds)
        wait_for(lambda: self.mute.fed == fed, f"{seconds} s of silence")

    def missed(self, count: int) -> Panel:
        wait_for(lambda: self.count == count, f"miss {count}")
        wait_for(lambda: self.told.panels[-1].misses == count or count > 3, "its panel")
        return self.told.panels[-1]

    @property
    def count(self) -> int:
        return sum(each == ev.Missed("noinput") for each in self.events())


class Mute:
    """Ears that hear nothing; `speaking` as somebody in mid-sentence."""

    def __init__(self) -> None:
        self.fed, self.speaking = 0, False

    def listen(self, ask: str) -> "Mute":
        return self

    def feed(self, block: bytes) -> None:
        self.fed += 1


def test_silence_asks_again_twice_then_offers_the_keys_and_then_leaves_it() -> None:
    bench = Patient()
    bench.silent(19)
    assert bench.count == 0
    bench.silent(1)
    assert bench.missed(1).answers == ("I heard nothing.",)
    bench.silent(20)
    assert bench.missed(2).answers == ("Say: job, then the digits.",)
    bench.silent(20)
    last = bench.missed(3)
    assert last.answers == ("I ask no more. Tap, use the pedal, or speak.",)
    bench.silent(200)
    bench.sitting.end()
    assert bench.count == 3
    assert (last.turn, last.ask, last.heard) == (0, "job", ""), "the same question: what is half tapped still fits"


def test_a_tap_after_a_silence_answers_the_question_it_was_meant_for() -> None:
    bench = Patient()
    bench.silent(20)
    bench.missed(1)
    bench.sitting.tap(0, "job one")
    assert bench.told.panel(1).place.job == "1"
    bench.silent(19)
    bench.sitting.end()
    assert bench.count == 1, "the next question waits from its own begin"


def test_nobody_is_asked_again_where_the_ask_does_not_wait() -> None:
    bench = Patient(wait_s=lambda ask: 0.0)
    bench.silent(200)
    bench.sitting.end()
    assert bench.count == 0


def test_a_wait_does_not_run_while_it_speaks() -> None:
    sound = Sound()
    bench = Patient(sound)
    wait_for(lambda: not bench.speaker.deaf, "silence")
    bench.silent(15)
    sound.free.clear()
    bench.speaker.say(Wording("Hello.", "Hello.", False), PLAIN)
    bench.line.pulled.release(99)
    deaf = Listening(0.0, deaf=True)
    wait_for(lambda: bench.told.news.count(deaf) == 33, "99 blocks not heard")
    sound.free.set()
    wait_for(lambda: not bench.speaker.deaf, "silence")
    bench.silent(4)
    bench.sitting.end()
    assert bench.count == 0


def test_a_wait_begins_anew_when_somebody_has_spoken() -> None:
    bench = Patient()
    bench.silent(15)
    bench.mute.speaking = True
    bench.silent(60)
    bench.mute.speaking = False
    bench.silent(19)
    assert bench.count == 0
    bench.silent(1)
    bench.missed(1)


def test_a_finger_on_a_pad_is_no_silence() -> None:
    bench = Patient()
    bench.silent(15)
    bench.sitting.touched()
    bench.silent(15)
    bench.sitting.end()
    assert bench.count == 0


@pytest.mark.parametrize("sentence", ["one\ninch", "  "])
def test_odd_taps_do_no_harm(sentence: str) -> None:
    bench = Bench()
    bench.tap(*SETUP)
    bench.sitting.tap(len(SETUP), sentence)
    bench.sitting.end()
    expected = [*SETUP, "one inch"] if sentence.strip() else list(SETUP)
    assert [each.text for each in bench.events() if isinstance(each, ev.Said)] == expected
