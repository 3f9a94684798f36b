"""One TOML file of settings; every value has a default, a range and a meaning."""

import os
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

from assistant.attention import Manners, attention_words
from assistant.browser.hosts import is_address
from assistant.browser.wishes import HOME, PORTS, TabletWishes
from assistant.core import events as ev
from assistant.core.deadman import MIDDLE
from assistant.core.kit import Kit, KitError
from assistant.core.layout import HeadRule
from assistant.core.length import Length, System, inches, tape
from assistant.core.order import Order, OrderError
from assistant.core.traverse import ClosureRule
from assistant.exits import Exit, Refusal
from assistant.kit_table import read_kit
from assistant.orders import DEFAULT, ENDING, read_order
from assistant.screen.palette import THEMES
from assistant.settings_table import known
from assistant.typed import Table, read_table
from assistant.units import read_length

DISTANCES = (inches(1), inches(6))
"""How far the head may be set to stand from its wall, least and most."""
RATES = range(120, 221)
"""Words a minute the voice may be set to."""
DEAF_MS = range(300, 501)
"""Milliseconds without hearing after the assistant has spoken: the room still rings with its voice."""
OPEN_S = range(3, 31)
"""Seconds for which the ears may be set to stay open."""
TALKS = ("open", "tap")
ASK_AGAIN_S = range(10, 121)
"""Seconds of silence before it asks again, where that is wanted: shorter is pressing, longer is forgotten."""
MOST_NAME = 60
"""Signs of a crew's or a person's name."""


@dataclass(frozen=True)
class Settings:
    """What the user may set."""

    order: str = DEFAULT
    """[job] order: name of an order of passes, or the path of the user's own, which ends in '.toml'."""
    head: HeadRule = field(default_factory=HeadRule)
    """[head] width, gap_least, gap_most: typed lengths such as '15 in'."""
    rate: int = 155
    """[voice] rate: words a minute, 120 to 220."""
    distance: Length = MIDDLE
    """[head] distance: how far the head stands from its wall, 1 to 6 in."""
    kit: Kit | None = None
    """[kit]: the stretcher's pieces; None = not set, so no tubes are called out."""
    closure: ClosureRule = field(default_factory=ClosureRule)
    """[room] closure, closure_share: how far an outline may fail to close, a length and a share of the perimeter."""

    theme: str = "dark"
    """[screen] theme: 'dark' or 'light'."""
    pedal: tuple[str, ...] = ()
    """[pedal] keys: the three keys of the foot pedal, as the screen learnt them, and one that talks; () = none."""
    device: str | None = None
    """[ears] device: part of the microphone's name; None = the system's own choice."""
    deaf_s: float = 0.4
    """[ears] deaf_ms: so long after the assistant has spoken nothing is heard, 300 to 500 ms."""
    manners: Manners = field(default_factory=Manners)
    """[ears] attention, open_s, talk: what must be said or pressed before an answer is heard."""
    second_ear: bool = True
    """[ears] second: ask the second ear where the extra second-ear is installed."""
    crew: str = ""
    """[crew] name: goes into the log, so that many jobs can be looked at by crew; '' = not recorded."""
    person: str = ""
    """[crew] person: likewise."""
    tablet: TabletWishes = field(default_factory=TabletWishes)
    """[tablet] port, address, may_tap: the page for browsers; port 0 = none."""
    tones: bool = True
    """[voice] tones: a tone before the answer; off, its sign is still seen."""
    ask_again_s: int = 20
    """[dialogue] ask_again_s: seconds of silence before it asks again, 10 to 120; 0 = never."""

    def started(self, program: str, model: str) -> ev.Started:
        """The begin of a session under these settings."""
        rules = (self.read_order(), self.head, self.kit, self.distance, self.closure)
        return ev.Started(program, model, *rules, self.crew, self.person)

    def read_order(self) -> Order:
        """The order of passes set here."""
        return read_order(self.order)


def settings_file() -> Path:
    """Where settings are looked for: PULLCALL_SETTINGS, else .pullcall.toml in the home folder."""
    try:
        return Path(os.environ.get("PULLCALL_SETTINGS") or Path.home() / ".pullcall.toml")
    except RuntimeError:  # an account without a home: below this nothing ever exists
        return Path(os.devnull) / ".pullcall.toml"


def read_settings(file: Path | None = None) -> Settings:
    """Settings from `file`, defaults where the default file does not exist.

    Raises Refusal (BAD_SETTINGS) naming file, key, value and what is allowed.
    """
    wanted = file or settings_file()
    with suppress(OSError):  # where it cannot be looked for it cannot be read either, and that says why
        if file is None and not wanted.exists():
            return Settings()
    table = read_table(wanted, Exit.BAD_SETTINGS, "give a TOML file as README.md shows it", "settings")
    try:
        return _read(table, wanted.parent)
    except KitError as error:
        raise Refusal(Exit.BAD_SETTINGS, f"settings {wanted}: {error}") from error


_MOST_SHARE = Fraction(1, 20)
"""Of the perimeter; walls that close no better than this are no measurement."""
_YES_NO = "true or false"


def _read(table: Table, folder: Path) -> Settings:
    """What the file in `folder` sets."""
    table.only(sections := known())
    of = {name: table.table(name) for name in sections}
    for name, keys in sections.items():
        of[name].only(keys)
    kit = table.get("kit", dict, "a table")
    return Settings(
        order=_order(of["job"], folder),
        head=_head(of["head"]),
        rate=of["voice"].either("rate", 155, f"{_from_to(RATES)} words a minute", RATES.__contains__),
        distance=_distance(of["head"]),
        kit=None if kit is None else read_kit(kit),
        closure=_closure(of["room"]),
        theme=of["screen"].either("theme", THEMES[0], f"one of {', '.join(THEMES)}", THEMES.__contains__),
        pedal=_pedal(of["pedal"]),
        device=of["ears"].either("device", "", "part of a microphone's name, in quotes") or None,
        deaf_s=of["ears"].either("deaf_ms", 400, f"{_from_to(DEAF_MS)} milliseconds", DEAF_MS.__contains__) / 1000,
        manners=_manners(of["ears"]),
        second_ear=of["ears"].either("second", True, _YES_NO),
        crew=_name(of["crew"], "name"),
        person=_name(of["crew"], "person"),
        tablet=_tablet(of["tablet"]),
        tones=of["voice"].either("tones", True, _YES_NO),
        ask_again_s=_ask_again(of["dialogue"]),
    )


def _from_to(allowed: range) -> str:
    return f"a whole number from {allowed[0]} to {allowed[-1]}"


def _order(job: Table, folder: Path) -> str:
    name = job.either("order", DEFAULT, "the name of an order, or the path of your own, in quotes")
    # A path counts from the settings file, wherever the program is started.
    found = str(folder / name) if name.endswith(ENDING) else name
    try:
        read_order(found)
    except OrderError as error:
        raise job.wrong("order", f"must be an order that can be worked ({error})") from error
    return found


def _length(table: Table, key: str, default: Length) -> Length:
    found = table.read(key, read_length, "a length in quotes, such as '3 1/2 in'")
    return default if found is None else found[0]


def _head(head: Table) -> HeadRule:
    default = HeadRule()
    width = _length(head, "width", default.width)
    least, most = (_length(head, key, getattr(default, key)) for key in ("gap_least", "gap_most"))
    if least > most:
        told = f"gap_least, {tape(least, System.IMPERIAL)}, must be at most gap_most, {tape(most, System.IMPERIAL)}"
        raise head.wrong("gap_least" if head.has("gap_least") else "gap_most", told)
    return HeadRule(width, least, most)


def _distance(head: Table) -> Length:
    distance = _length(head, "distance", MIDDLE)
    if not DISTANCES[0] <= distance <= DISTANCES[1]:
        raise head.wrong("distance", "must be from 1 in to 6 in")
    return distance


def _closure(room: Table) -> ClosureRule:
    default = ClosureRule()
    fixed = _length(room, "closure", default.fixed)
    share = room.get("closure_share", object, what := "a share of the perimeter such as '1/300'", default.share)
    try:
        found = ClosureRule(fixed, Fraction(str(share)))
    except (ValueError, ZeroDivisionError):
        raise room.wrong("closure_share", f"must be {what}") from None
    if not 0 <= found.share <= _MOST_SHARE:
        raise room.wrong("closure_share", f"must be from 0 to {_MOST_SHARE}")
    return found


def _pedal(pedal: Table) -> tuple[str, ...]:
    def good(keys: list[str]) -> bool:
        texts = all(isinstance(each, str) and each for each in keys)
        return texts and len(keys) in (0, 3, 4) and len(set(keys)) == len(keys)

    told = "three different names of keys, or four: the last one talks; 'pullcall' learns them (Ctrl-L)"
    return tuple(pedal.either("keys", [], told, good))


def _manners(ears: Table) -> Manners:
    known_words = attention_words()
    talk = ears.either("talk", TALKS[0], f"one of {', '.join(TALKS)}", TALKS.__contains__)
    told = f"empty, or one of {', '.join(known_words)}"
    attention = ears.either("attention", "", told, lambda text: not text or text in known_words)
    if attention and talk == "tap":
        raise ears.wrong("attention", "must be empty where ears.talk = tap: one of the two opens the ears")
    open_s = ears.either("open_s", 8, f"{_from_to(OPEN_S)} seconds", OPEN_S.__contains__)
    return Manners(attention, float(open_s), talk == "tap")


def _name(crew: Table, key: str) -> str:
    told = f"a name in quotes, at most {MOST_NAME} signs in one line"
    return crew.either(key, "", told, lambda text: len(text) <= MOST_NAME and text.isprintable()).strip()


def _tablet(tablet: Table) -> TabletWishes:
    return TabletWishes(
        tablet.either("port", 0, f"0, or {_from_to(PORTS)}", lambda port: port == 0 or port in PORTS),
        tablet.either("address", HOME, "an address in figures, such as '127.0.0.1'", is_address),
        tablet.either("may_tap", False, _YES_NO),
    )


def _ask_again(dialogue: Table) -> int:
    told = f"0 = never, or {_from_to(ASK_AGAIN_S)} seconds"
    return dialogue.either("ask_again_s", 20, told, lambda wait: wait == 0 or wait in ASK_AGAIN_S)
