"""Every setting with its default, range and meaning: what the reader allows, and what `pullcall settings` shows."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Entry:
    """One setting."""

    key: str
    """Section and key, as in 'voice.rate'."""
    default: str
    """As it would stand in the file."""
    allowed: str
    meaning: str


_LENGTH = "a length"
_POSITIVE = "a length above 0"
TABLE = (
    Entry("job.order", '"cross_length_cross"', "a built-in order, or a path ending in .toml", "order of the passes"),
    Entry("head.width", '"15 in"', _POSITIVE, "width of the stretcher's head"),
    Entry("head.gap_least", '"3 in"', "a length, at most gap_most", "least gap between neighbouring heads"),
    Entry("head.gap_most", '"4 in"', "a length, at least gap_least", "most gap between neighbouring heads"),
    Entry("head.distance", '"2 1/2 in"', "1 in to 6 in", "how far the head stands from its wall"),
    Entry("kit.head", '"24 in"', "6 in to 10 ft", "head and lever section, lever right up"),
    Entry("kit.travel", '"6 in"', _LENGTH, "how much longer it gets with the lever right down"),
    Entry("kit.window", '"1 1/2 in"', "at most half the travel", "how far from half-way the lever may stand"),
    Entry(
        "kit.tubes",
        '[{ length = "4 ft", count = 6 }, { length = "2 ft", count = 2 }, { length = "1 ft", count = 1 }]',
        "at most 24 tubes",
        "the tubes by length and count",
    ),
    Entry("kit.extension_least", '"18 in"', _LENGTH, "extension pushed in"),
    Entry("kit.extension_most", '"33 in"', _LENGTH, "extension pulled out"),
    Entry("kit.hole_pitch", '"3 in"', _LENGTH, "from hole to hole of the extension"),
    Entry("kit.tail", '"2 in"', _LENGTH, "plate and pad of the tail"),
    Entry("room.closure", '"1 in"', _LENGTH, "how far an outline may fail to close"),
    Entry("room.closure_share", '"1/300"', "0 to 1/20", "share of the perimeter that may be added to it"),
    Entry("voice.rate", "155", "120 to 220", "words a minute"),
    Entry("voice.tones", "true", "true, false", "a tone before the answer; off, its sign is still seen"),
    Entry(
        "dialogue.ask_again_s",
        "20",
        "0, or 10 to 120",
        "s of silence before it asks again; 6 times as long where something is measured, never at work; 0 = never",
    ),
    Entry("ears.device", '""', "part of a microphone's name", "which microphone; empty = the system's own choice"),
    Entry("ears.deaf_ms", "400", "300 to 500", "ms without hearing after the assistant has spoken"),
    Entry(
        "ears.attention",
        '""',
        "empty, or: wake up stretcher, hello tape measure, listen now carpet",
        "said first, and then an answer is heard; empty = answers are always heard",
    ),
    Entry("ears.open_s", "8", "3 to 30", "s for which answers are heard after the attention word or the talk key"),
    Entry(
        "ears.talk",
        '"open"',
        "open, tap",
        "tap = nothing is heard until T, F4 or the pedal's fourth key; then one answer",
    ),
    Entry(
        "ears.second",
        "true",
        "true, false",
        "a second ear is asked in doubt and at numbers, where its extra is installed",
    ),
    Entry("crew.name", '""', "a name, at most 60 signs", "who works here, for the log; empty = not recorded"),
    Entry("crew.person", '""', "a name, at most 60 signs", "likewise"),
    Entry("screen.theme", '"dark"', "dark, light", "colours of the screen"),
    Entry("tablet.port", "0", "0, or 1024 to 65535", "port of the page for browsers; 0 = only with --tablet"),
    Entry(
        "tablet.address",
        '"127.0.0.1"',
        "an address of this machine",
        "where it is reached; others than 127.0.0.1 ask a code",
    ),
    Entry("tablet.may_tap", "false", "true, false", "answers may be tapped in the browser"),
    Entry(
        "pedal.keys",
        "[]",
        "three different names of keys, or four",
        "the foot pedal, learnt with Ctrl-L; the fourth key talks (ears.talk, ears.attention)",
    ),
)


def known() -> dict[str, tuple[str, ...]]:
    """Sections and their keys."""
    found: dict[str, tuple[str, ...]] = {}
    for each in TABLE:
        section, _, key = each.key.partition(".")
        found[section] = (*found.get(section, ()), key)
    return found
