"""`pullcall bench --live`: delay and load of the whole program, `pullcall --plain` itself, through virtual devices."""

import statistics
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal
from assistant.gauges.figure import Figure
from assistant.gauges.onset import Sound, onset, reaction_s
from assistant.gauges.program import PLAIN, Program
from assistant.gauges.room import RATE, Room
from assistant.gauges.soundtrack import demo_recordings
from assistant.ports import RATE as EARS_RATE
from assistant.practice.noises import pink
from assistant.speech.audio import read_audio
from assistant.speech.grammars import asks, grammar
from assistant.speech.understand import understand

UTTERANCES = 61
"""Of the demo's job, which is talked through in real time: all but the last, which would end it."""
STARTS = 5
LOAD_S = 30.0
QUIET_S = 1.2
"""So long without a sound and the assistant has ended its turn; between two lines of one turn it is shorter."""
ANSWER_S = 10.0
"""So long after a recording, and no answer comes."""
FIRST_ASK_S = 30.0
HISS = 2
"""Of 32,768: a quiet room is never exactly zero, and a microphone that is counts as muted."""
NOISE_DB = -30.0
"""Of full scale: a loud room, in which one still speaks."""


@dataclass(frozen=True)
class Spoken:
    """What came of one recording."""

    text: str
    """What was spoken."""
    heard: str
    """What the program told that it heard; '' = nothing."""
    reaction_s: float | None
    """End of speech to first audible sample; None where nothing was answered."""
    printed_s: float | None
    """End of speech to the line that tells of it, to some hundredths; None for none."""
    noisy: bool = False
    """Noise is mixed into the recording: where its speech ends is not known, and it is not timed."""


@dataclass(frozen=True)
class Start:
    """Seconds from the start of the program."""

    printed_s: float
    """To its first question in print."""
    audible_s: float
    """To its first audible sample."""


class LiveBench:
    """A room, and the program in it."""

    def __init__(self, room: Room, command: Sequence[str] = PLAIN) -> None:
        """`command` is the program to be measured."""
        self._room, self._command = room, tuple(command)

    def begin(self, name: str) -> tuple[Program, Start]:
        """Start it in a folder of its own, and hear its first question to the end. Raises Refusal (FINDINGS)."""
        before = self._room.recorder.length
        program = Program(self._command, self._room.home / name, self._room.environment)
        asked = program.until(lambda: any(line for _, line in program.lines), FIRST_ASK_S)
        if not asked or not program.until(lambda: self._answered(before), FIRST_ASK_S):
            program.kill()
            told = "; ".join(line for _, line in program.complaints[-3:])
            raise Refusal(Exit.FINDINGS, f"the program asked nothing aloud within {FIRST_ASK_S:g} s: {told}")
        first = onset(self._loudspeaker(before))
        assert first is not None
        audible = self._room.recorder.moment(before + first) - program.begun
        printed = next(at for at, line in program.lines if line) - program.begun
        self.wait_for_silence(program)
        return program, Start(printed, audible)

    def say(self, program: Program, recording: Sound, text: str) -> Spoken:
        """Speak a recording (samples at RATE) into the room, and hear the answer to its end."""
        recorder = self._room.recorder
        wav = self._room.home / "said.wav"
        soundfile.write(wav, recording, RATE, subtype="PCM_16")
        before, told = recorder.length, len(program.heard())
        self._room.play(wav)
        program.until(lambda: len(program.heard()) > told and self._answered(before), ANSWER_S)
        self.wait_for_silence(program)
        both = recorder.sound(before) / 32768.0
        reaction = reaction_s(recording, both[:, 0], both[:, 1], RATE)
        printed = program.heard()[told:]
        if reaction is None or not printed:
            return Spoken(text, "", reaction, None)
        first = onset(both[:, 1])
        assert first is not None
        end_of_speech = recorder.moment(before + first) - reaction
        return Spoken(text, printed[0][1], reaction, printed[0][0] - end_of_speech)

    def wait_for_silence(self, program: Program) -> None:
        """Until the loudspeaker has been silent for QUIET_S."""
        size = round(QUIET_S * RATE)
        begun = self._room.recorder.length

        def silent() -> bool:
            now = self._room.recorder.length
            return now - begun > size and onset(self._loudspeaker(now - size)) is None

        if not program.until(silent, 60.0):
            raise Refusal(Exit.FINDINGS, "the program does not stop speaking, or ended")

    def _answered(self, since: int) -> bool:
        return onset(self._loudspeaker(since)) is not None

    def _loudspeaker(self, since: int) -> Sound:
        found: Sound = self._room.recorder.sound(since)[:, 1] / 32768.0
        return found


def live_figures(utterances: int = UTTERANCES, tell: Callable[[str], object] = print) -> Iterator[Figure]:
    """Measure; a figure as soon as it is there. Raises Refusal (BAD_AUDIO, FINDINGS)."""
    with tempfile.TemporaryDirectory(prefix="pullcall-bench") as folder, Room(Path(folder)) as room:
        bench = LiveBench(room)
        room.make_noise(hiss(), EARS_RATE)
        program, starts = _starts(bench)
        yield from _of_starts(starts)
        yield Figure(f"processor, listening in quiet, {LOAD_S:g} s, of one core", program.load(LOAD_S), "%", 15)
        room.make_noise(_loud(), EARS_RATE)
        time.sleep(1.0)
        yield Figure(f"processor, listening in pink noise of {NOISE_DB:g} dB", program.load(LOAD_S), "%", 15)
        room.make_noise(hiss(), EARS_RATE)
        before = len(program.heard())
        spoken = []
        for file, text, noisy in demo_recordings()[:utterances]:
            spoken.append(replace(bench.say(program, sound_of(file), text), noisy=noisy))
            tell(f"{len(spoken)} of {utterances}: {_told(spoken[-1])}")
        memory = Figure("memory of the whole program, all its processes", program.memory_mb(), "MB", 250)
        stray = len(program.heard()) - before - sum(each.printed_s is not None for each in spoken)
        program.end()
    yield memory
    yield from live_parts(spoken, before + stray)


def _starts(bench: LiveBench) -> tuple[Program, list[Start]]:
    """The program, started for the last time, and how each start went but the first, which may compile modules."""
    starts = []
    for number in range(STARTS + 1):
        program, start = bench.begin(f"job{number}")
        starts.append(start)
        if number < STARTS:
            program.end()
    return program, starts[1:]


def _of_starts(starts: Sequence[Start]) -> Iterator[Figure]:
    yield Figure(f"start to first question in print, worst of {len(starts)}", max(s.printed_s for s in starts), "s", 2)
    audible = max(each.audible_s for each in starts)
    yield Figure(f"start to first audible sample of it, worst of {len(starts)}", audible, "s", 2)


def live_parts(spoken: Sequence[Spoken], stray: int) -> Iterator[Figure]:
    """`stray` counts the utterances told of that nobody spoke."""
    clean = [each for each in spoken if not each.noisy]
    reactions = [each.reaction_s for each in clean if each.reaction_s is not None]
    whole = [each for each in reactions if each > 0]
    name = f"end of speech to first audible sample, {{}} of {len(whole)}"
    yield Figure(name.format("p50"), _part(whole, 50), "s", 0.8)
    yield Figure(name.format("p95"), _part(whole, 95), "s", 1.2)
    printed = [each.printed_s for each in clean if each.printed_s is not None and each.printed_s > 0]
    yield Figure(f"end of speech to its words in print, p50 of {len(printed)}", _part(printed, 50), "s")
    yield Figure(f"end of speech to its words in print, p95 of {len(printed)}", _part(printed, 95), "s")
    silent = sum(each.reaction_s is None for each in spoken)
    yield Figure(f"of {len(spoken)} recordings, not answered", silent, "", 0)
    yield Figure(f"of {len(clean)} without noise, answered before their end", len(reactions) - len(whole), "", 0)
    otherwise = sum(each.heard != _meant(each.text) for each in spoken)
    yield Figure(f"of {len(spoken)} recordings, heard with other words", otherwise, "")
    yield Figure("heard though nobody spoke: own voice or noise", stray, "", 0)


def _meant(text: str) -> str:
    """What is told of a sentence: its words, or that it was none of ours."""
    ours = any(understand(text, grammar(each)) is not None for each in asks())
    return text if ours else "(something else)"


def _part(values: Sequence[float], percent: int) -> float:
    if len(values) < 2:
        return float("nan")
    return statistics.quantiles(values, n=100, method="inclusive")[percent - 1]


def _told(spoken: Spoken) -> str:
    after = "no answer" if spoken.reaction_s is None else f"answered after {spoken.reaction_s:.3f} s"
    return f"'{spoken.text}', heard '{spoken.heard}', {after}"


def sound_of(file: Path) -> Sound:
    """Samples at RATE."""
    samples = np.frombuffer(read_audio(file), "<i2") / 32768.0
    found: Sound = soxr.resample(samples, EARS_RATE, RATE)
    return found


def hiss() -> NDArray[np.int16]:
    """Ten seconds of a quiet room at EARS_RATE."""
    return np.random.default_rng(1).integers(-HISS, HISS + 1, 10 * EARS_RATE).astype("<i2")


def _loud() -> NDArray[np.int16]:
    return (pink(20 * EARS_RATE, 2) * 10 ** (NOISE_DB / 20) * 32767).clip(-32767, 32767).astype("<i2")
