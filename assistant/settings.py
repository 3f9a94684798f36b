"""One TOML file of settings; every value has a default, a range and a meaning."""

import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from assistant.attention import Manners, attention_words
from assistant.browser.hosts import is_address
from assistant.browser.wishes import HOME, PORTS, TabletWishes
from assistant.core import events as ev
from assistant.core.deadman import MIDDLE
from assistant.core.kit import Kit, KitError
from assistant.core.layout import HeadRule
from assistant.core.length import ZERO, Length, inches
from assistant.core.order import Order, OrderError
from assistant.core.traverse import ClosureRule
from assistant.exits import Exit, Refusal
from assistant.kit_table import read_kit
from assistant.orders import DEFAULT, ENDING, read_order
from assistant.screen.palette import THEMES
from assistant.settings_table import known
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
    try:
        if file is None and not wanted.exists():
            return Settings()
        table = tomllib.loads(wanted.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:  # no file, no text, no TOML, brackets without end
        why = error.strerror if isinstance(error, OSError) else error
        raise Refusal(
            Exit.BAD_SETTINGS, f"settings {wanted}: cannot be read ({why}); give a TOML file as README.md shows it"
        ) from error
    return _Reader(wanted, table).settings()


_KNOWN = known()
_MOST_SHARE = Fraction(1, 20)
"""Of the perimeter; walls that close no better than this are no measurement."""


class _Reader:
    def __init__(self, file: Path, table: Mapping[str, Any]) -> None:
        self.file, self.table = file, table

    def settings(self) -> Settings:
        for section, entries in self.table.items():
            if section not in _KNOWN or not isinstance(entries, dict):
                raise self._wrong(section, "unknown section", f"one of {', '.join(_KNOWN)}")
            for key in entries:
                if key not in _KNOWN[section]:
                    raise self._wrong(f"{section}.{key}", "unknown key", f"one of {', '.join(_KNOWN[section])}")
        head, kit, closure = self._head(), self._kit(), self._closure()
        seen = (self._theme(), self._pedal())
        heard = (self._device(), self._deaf(), self._manners(), self._second_ear())
        rest = (*seen, *heard, *self._crew(), self._tablet(), self._tones(), self._ask_again())
        return Settings(self._order(), head, self._rate(), self._distance(), kit, closure, *rest)

    def _tablet(self) -> TabletWishes:
        port, may_tap = self._get("tablet", "port", 0), self._get("tablet", "may_tap", False)
        address = self._get("tablet", "address", HOME)
        if not isinstance(port, int) or isinstance(port, bool) or (port != 0 and port not in PORTS):
            raise self._wrong("tablet.port", port, f"0, or a whole number from {PORTS[0]} to {PORTS[-1]}")
        if not isinstance(address, str) or not is_address(address):
            raise self._wrong("tablet.address", address, "an address in figures, such as '127.0.0.1'")
        if not isinstance(may_tap, bool):
            raise self._wrong("tablet.may_tap", may_tap, "true or false")
        return TabletWishes(port, address, may_tap)

    def _crew(self) -> tuple[str, str]:
        name, person = (self._crew_text(key) for key in ("name", "person"))
        return name, person

    def _crew_text(self, key: str) -> str:
        text = self._get("crew", key, "")
        if not isinstance(text, str) or len(text) > MOST_NAME or not text.isprintable():
            raise self._wrong(f"crew.{key}", text, f"a name in quotes, at most {MOST_NAME} signs in one line")
        return text.strip()

    def _device(self) -> str | None:
        device = self._get("ears", "device", "")
        if not isinstance(device, str):
            raise self._wrong("ears.device", device, "part of a microphone's name, in quotes")
        return device or None

    def _deaf(self) -> float:
        deaf = self._get("ears", "deaf_ms", 400)
        if not isinstance(deaf, int) or isinstance(deaf, bool) or deaf not in DEAF_MS:
            raise self._wrong("ears.deaf_ms", deaf, "a whole number from 300 to 500 milliseconds")
        return deaf / 1000

    def _manners(self) -> Manners:
        attention, talk = self._get("ears", "attention", ""), self._get("ears", "talk", TALKS[0])
        open_s = self._get("ears", "open_s", 8)
        if talk not in TALKS:
            raise self._wrong("ears.talk", talk, f"one of {', '.join(TALKS)}")
        if attention != "" and attention not in attention_words():
            raise self._wrong("ears.attention", attention, f"empty, or one of {', '.join(attention_words())}")
        if attention and talk == "tap":
            raise self._wrong("ears.attention", attention, "empty where ears.talk = tap: one of the two opens the ears")
        if not isinstance(open_s, int) or isinstance(open_s, bool) or open_s not in OPEN_S:
            raise self._wrong("ears.open_s", open_s, f"a whole number from {OPEN_S[0]} to {OPEN_S[-1]} seconds")
        return Manners(attention, float(open_s), talk == "tap")

    def _tones(self) -> bool:
        tones = self._get("voice", "tones", True)
        if not isinstance(tones, bool):
            raise self._wrong("voice.tones", tones, "true or false")
        return tones

    def _ask_again(self) -> int:
        wait = self._get("dialogue", "ask_again_s", 20)
        if not isinstance(wait, int) or isinstance(wait, bool) or (wait != 0 and wait not in ASK_AGAIN_S):
            raise self._wrong("dialogue.ask_again_s", wait, "0 = never, or a whole number from 10 to 120 seconds")
        return wait

    def _second_ear(self) -> bool:
        wanted = self._get("ears", "second", True)
        if not isinstance(wanted, bool):
            raise self._wrong("ears.second", wanted, "true or false")
        return wanted

    def _theme(self) -> str:
        theme = self._get("screen", "theme", THEMES[0])
        if theme not in THEMES:
            raise self._wrong("screen.theme", theme, f"one of {', '.join(THEMES)}")
        return str(theme)

    def _pedal(self) -> tuple[str, ...]:
        keys = self._get("pedal", "keys", [])
        good = isinstance(keys, list) and all(isinstance(each, str) and each for each in keys)
        if not good or len(keys) not in (0, 3, 4) or len(set(keys)) != len(keys):
            told = "three different names of keys, or four: the last one talks; 'pullcall' learns them (Ctrl-L)"
            raise self._wrong("pedal.keys", keys, told)
        return tuple(keys)

    def _get(self, section: str, key: str, default: Any) -> Any:
        return self.table.get(section, {}).get(key, default)

    def _wrong(self, key: str, value: object, allowed: str) -> Refusal:
        return Refusal(Exit.BAD_SETTINGS, f"settings {self.file}: {key} = {value}: must be {allowed}")

    def _order(self) -> str:
        name = self._get("job", "order", DEFAULT)
        if not isinstance(name, str):
            raise self._wrong("job.order", name, "the name of an order, or the path of your own, in quotes")
        # A path counts from the settings file, wherever the program is started.
        found = str(self.file.parent / name) if name.endswith(ENDING) else name
        try:
            read_order(found)
        except OrderError as error:
            raise self._wrong("job.order", name, f"an order that can be worked ({error})") from error
        return found

    def _head(self) -> HeadRule:
        default = HeadRule()
        rule = HeadRule(
            self._length("width", default.width),
            self._length("gap_least", default.gap_least),
            self._length("gap_most", default.gap_most),
        )
        if rule.gap_least > rule.gap_most or rule.width <= ZERO:
            raise self._wrong("head.gap_least", self._get("head", "gap_least", "3 in"), "at most head.gap_most")
        return rule

    def _distance(self) -> Length:
        distance = self._length("distance", MIDDLE)
        if not DISTANCES[0] <= distance <= DISTANCES[1]:
            raise self._wrong("head.distance", self._get("head", "distance", ""), "from 1 in to 6 in")
        return distance

    def _closure(self) -> ClosureRule:
        default = ClosureRule()
        fixed = self._length("closure", default.fixed, "room")
        share = self._get("room", "closure_share", str(default.share))
        try:
            found = ClosureRule(fixed, Fraction(str(share)))
        except (ValueError, ZeroDivisionError):
            raise self._wrong("room.closure_share", share, "a share of the perimeter such as '1/300'") from None
        if not 0 <= found.share <= _MOST_SHARE:
            raise self._wrong("room.closure_share", share, f"from 0 to {_MOST_SHARE}")
        return found

    def _kit(self) -> Kit | None:
        if "kit" not in self.table:
            return None
        try:
            return read_kit(self.table["kit"])
        except KitError as error:
            raise Refusal(Exit.BAD_SETTINGS, f"settings {self.file}: {error}") from error

    def _length(self, key: str, default: Length, section: str = "head") -> Length:
        text = self._get(section, key, None)
        if text is None:
            return default
        try:
            return read_length(str(text))[0]
        except Refusal as error:
            raise self._wrong(f"{section}.{key}", text, f"a length: {error.line}") from error

    def _rate(self) -> int:
        rate = self._get("voice", "rate", 155)
        if not isinstance(rate, int) or isinstance(rate, bool) or rate not in RATES:
            raise self._wrong("voice.rate", rate, "a whole number from 120 to 220 words a minute")
        return rate
