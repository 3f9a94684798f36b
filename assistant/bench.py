"""`pullcall bench`: what speed and memory are on this machine. It prints figures; it never fails on them."""

import json
import os
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field, replace
from fractions import Fraction
from functools import partial
from pathlib import Path

from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.core.band import Construction, figure_for
from assistant.core.fold import fold
from assistant.core.kit import Kit, Tube
from assistant.core.length import Length, System, feet, inches
from assistant.core.order import Direction, Order
from assistant.core.outline import Outline, Point
from assistant.core.plan import Figures, Job, Plan, make_plan
from assistant.core.room import Axis, Corner, Room
from assistant.core.tube_sums import sums_of
from assistant.core.tubes import builds
from assistant.demo import read_playlist, talk_through
from assistant.exits import Exit
from assistant.gauges.figure import Figure
from assistant.orders import read_order
from assistant.ports import RATE, Ears, Heard, Listener
from assistant.record.memory import MemoryStore
from assistant.shelf import recordings_folder
from assistant.speech.ears import VoskEars
from assistant.speech.second_ear import second_ear


@dataclass
class Times:
    """What the ears needed, gathered over many utterances."""

    heard_s: float = 0.0
    """Sound fed."""
    worked_s: float = 0.0
    """Processor time spent on it, all threads."""
    answers_ms: list[float] = field(default_factory=list)
    """End of speech to result: the wait for silence plus the last piece of work."""


class TimedListener:
    """A listener under the stop-watch."""

    def __init__(self, inner: Listener, times: Times) -> None:
        self._inner, self._times, self._fed_s = inner, times, 0.0

    @property
    def speaking(self) -> bool:
        """As the port asks."""
        return self._inner.speaking

    def feed(self, block: bytes) -> Heard | None:
        """As the port asks."""
        self._fed_s += len(block) / 2 / RATE
        self._times.heard_s += len(block) / 2 / RATE
        return self._timed(lambda: self._inner.feed(block))

    def finish(self) -> Heard | None:
        """As the port asks."""
        return self._timed(self._inner.finish)

    def _timed(self, work: Callable[[], Heard | None]) -> Heard | None:
        wall, worked = time.perf_counter(), time.process_time()
        heard = work()
        self._times.worked_s += time.process_time() - worked
        if heard is not None:
            wait_s = self._fed_s - heard.end_s
            self._times.answers_ms.append((wait_s + time.perf_counter() - wall) * 1000)
        return heard


class TimedEars:
    """Ears under the stop-watch."""

    def __init__(self, inner: Ears, times: Times) -> None:
        self._inner, self._times = inner, times

    def listen(self, ask: str) -> Listener:
        """As the port asks."""
        return TimedListener(self._inner.listen(ask), self._times)


def run(*, as_json: bool, live: bool = False) -> Exit:
    """Measure and print. Raises Refusal (BAD_AUDIO, FINDINGS) where the live one cannot be done."""
    found: list[Figure] = []
    for each in _live() if live else _still():
        found.append(each)
        if not as_json:
            print(each, flush=True)
    if as_json:
        print(json.dumps([asdict(each) for each in found], indent=2))
    return Exit.DONE


def _still() -> Iterator[Figure]:
    """Parts of the program, without sound."""
    yield from _ears()
    yield from (_plan_time(), _outline_time(), *_tube_times(), _fold_time())
    yield from _screen_times()


def _live() -> Iterator[Figure]:
    """The whole program through virtual devices, and its screen."""
    from assistant.gauges.live import live_figures

    yield from live_figures(tell=lambda line: print(f"pullcall: {line}", file=sys.stderr, flush=True))
    yield from _screen_times()
    yield from _machine()


def _machine() -> Iterator[Figure]:
    """What else the machine has to do; a busy one makes every figure an upper bound."""
    if hasattr(os, "getloadavg"):
        yield Figure(
            f"load of the machine, {os.cpu_count()} cores, mean of 5 min, this included", os.getloadavg()[1], ""
        )


def _ears() -> Iterator[Figure]:
    start = time.perf_counter()
    ears = VoskEars()
    ears.listen("pull")
    yield Figure("speech model load", time.perf_counter() - start, "s", 1.0)
    yield from _recognition("", ears)
    del ears
    if (both := VoskEars(second=second_ear)).two:
        yield from _recognition("two ears: ", both)


def _recognition(who: str, ears: Ears) -> Iterator[Figure]:
    times = Times()
    for _ in range(2):
        _demo_job(TimedEars(ears, times))
    yield Figure(f"{who}recognition real-time factor, processor time", times.worked_s / times.heard_s, "", 0.15)
    slow = statistics.quantiles(times.answers_ms, n=20)[-1]
    yield Figure(f"{who}end of speech to result, p95 of {len(times.answers_ms)}", slow, "ms", 450)
    yield Figure(f"{who}resident memory, most so far", _resident_mb(), "MB", 250)


def _demo_job(ears: Ears) -> None:
    started = ev.Started("bench", "bench", read_order())
    conversation = Conversation(MemoryStore(), lambda wording, tone: None, started)
    talk_through(read_playlist(recordings_folder() / "demo"), conversation, ears, lambda text: None)


def _resident_mb() -> float:
    status = Path("/proc/self/status")
    if status.exists():
        peak = next(each for each in status.read_text().splitlines() if each.startswith("VmHWM"))
        return int(peak.split()[1]) / 1024
    if sys.platform == "win32":
        return float("nan")
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20


def big_plan() -> Plan:
    """The plan of a room of 60 x 40 ft."""
    figures = Figures({each: figure_for(Construction.TUFTED_SYNTHETIC, None) for each in Direction})
    room = Room(feet(60), feet(40), System.IMPERIAL)
    return make_plan(Job(room, Corner.DOOR_LEFT, Axis.DOOR_TO_FAR, figures, read_order()))


def comb(walls: int, tread: int) -> Room:
    """A room of so many walls (even): a far side of treads, each so many inches wide, every other deeper."""
    deep = [600 + place % 2 * 12 + place * 7 % 5 for place in range(walls // 2 - 1)]
    treads = [(x, y) for n, y in enumerate(deep) for x in (n * tread, (n + 1) * tread)]
    spots = [(0, 0), *treads, (len(deep) * tread, 0)]
    outline = Outline(tuple(Point(Fraction(x), Fraction(y)) for x, y in spots))
    length, width = (outline.extent(each) for each in (Axis.DOOR_TO_FAR, Axis.LEFT_TO_RIGHT))
    return Room(length, width, System.IMPERIAL, outline=outline)


def _outline_time() -> Figure:
    figures = Figures({each: figure_for(Construction.TUFTED_SYNTHETIC, None) for each in Direction})
    work = partial(_plan_afresh, comb(60, 234), figures, read_order())
    return Figure(f"plan of 60 walls, {len(work().pulls)} pulls, median of 9", _median_ms(work, 9), "ms", 50)


def _plan_afresh(room: Room, figures: Figures, order: Order) -> Plan:
    # A new room each time: one keeps the floor it has worked out.
    return make_plan(Job(replace(room), Corner.DOOR_LEFT, Axis.DOOR_TO_FAR, figures, order))


def _plan_time() -> Figure:
    return Figure("plan of a 60 x 40 ft room, median of 50", _median_ms(big_plan, 50), "ms", 5)


def many_lengths(pieces: int) -> Kit:
    """A kit of so many tubes, no two alike and hardly two choices with one sum: 1 ft to about 6 ft."""
    return Kit(tubes=tuple(Tube(inches(12 + 3 * n + Fraction(7 * n * n % 16, 16)), 1) for n in range(pieces)))


def skewed(pulls: int) -> list[Length]:
    """The spans of a pass whose two side walls differ by 4 in: no two alike, 24 ft and more."""
    return [feet(24) + inches(4) * Fraction(n, pulls) for n in range(pulls)]


def _tube_times() -> Iterator[Figure]:
    kits = [(pulls, many_lengths(pieces)) for pulls, pieces in ((25, 20), (50, 20), (100, 10), (100, 15), (100, 20))]
    kits.append((100, Kit(tubes=tuple(Tube(feet(each), 5) for each in (6, 4, 2, 1)))))
    for pulls, kit in kits:
        name = f"tubes: {pulls} pulls, {kit.pieces} pieces, {len(kit.tubes)} lengths, median of 7"
        yield Figure(name, _median_ms(partial(_tubes_afresh, kit, skewed(pulls)), 7), "ms", 100)


def _tubes_afresh(kit: Kit, spans: list[Length]) -> None:
    sums_of.cache_clear()
    builds(kit, spans)


def long_job(count: int) -> list[ev.Event]:
    """A job of `count` events in a 60 x 40 ft room: readings upon readings."""
    room = ev.SidesSet(feet(60), feet(40), System.IMPERIAL)
    opening: list[ev.Event] = [
        ev.Started("bench", "bench", read_order()),
        ev.ConstructionChosen(Construction.TUFTED_SYNTHETIC),
        ev.Proposed(room, "confirm_sides"),
        ev.Confirmed(),
        ev.CornerChosen(Corner.DOOR_LEFT),
        ev.LayChosen(Axis.DOOR_TO_FAR),
    ]
    bites = [ev.ReadingTaken(Length(inches(4).inches + inches(1).inches * n / 16), "") for n in range(40)]
    turn: list[ev.Event] = []
    for bite in bites:
        turn += [ev.Said("pull", "four inches", 1.0, "voice"), bite]
    turn += [ev.Hooked(), ev.HoldTaken(inches(6), "")]
    while len(opening) < count:
        opening += turn
    return opening[:count]


def _fold_time() -> Figure:
    job = long_job(10_000)
    return Figure("fold of a job of 10,000 events, median of 9", _median_ms(lambda: fold(job), 9), "ms", 200)


def _screen_times() -> Iterator[Figure]:
    from assistant.screen_bench import screen_times

    taps, signs = (statistics.quantiles(each, n=20)[-1] for each in screen_times(100))
    yield Figure("tap to repaint, job file included, p95 of 100", taps, "ms", 100)
    yield Figure("heard to first sign on the screen, p95 of 100", signs, "ms", 200)


def _median_ms(work: Callable[[], object], times: int) -> float:
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append((time.perf_counter() - start) * 1000)
    return statistics.median(spent)
