"""The page on commands that nobody gave: markdown, from what hours of background came to."""

from collections.abc import Iterator, Mapping, Sequence

from assistant.hearing import background_sound as sound
from assistant.hearing.background import Talk
from assistant.hearing.background_listening import ASKS, MANNERS, OPEN_S, WORD, Count, Executed, Found, Held
from assistant.hearing.background_sound import KINDS
from assistant.hearing.page import several, table
from assistant.hearing.statistics import garwood
from assistant.practice.noises import NOISES

ASKED = 0.1
"""Commands executed an hour that are asked for at most."""
_HEAD = ("hours", "ears open, h", "attention word heard", "begun while open", "not understood", "of them asked about",
         "executed", "executed an hour (95 %)")  # fmt: skip


def background_page(found: Found, talk: Mapping[str, Talk], command: str, ears: str) -> str:
    """Markdown; `ears` = the name of the model."""
    parts = ["# Commands that nobody gave", _preface(command, ears), summary(found), _sounds(found, talk)]
    for manner in _manners(found):
        parts += [f"## Ears {manner}", _by_ask(found, manner), "### Executed", _listed(found, manner)]
    parts += ["## What it took", memory(found), _work(found)]
    return "\n\n".join(parts) + "\n"


def _preface(command: str, ears: str) -> str:
    return (
        f"Written by `{command}`; not edited by hand. Ears: {ears}.\n"
        "Hours of background, a third each of noise alone, a radio in the room, and other people's talk, are heard by "
        "the program's own hearer, utterance after utterance. *Executed* = words that were understood and trusted "
        "while the ears were open; what a read-back or an explicit yes would still have caught is counted, too. Nobody "
        "answers: the ask does not follow from what was heard, it changes by the clock, half of the time *pull* is "
        f"asked, and the assistant is never deaf because it speaks. Every manner hears the same sound; '{WORD}' opens "
        f"the ears for {OPEN_S:g} s, and is said by nobody. In a job each answer opens them, too: what "
        "happens there lies between the two. Nothing here was tuned on these recordings. The page is written anew as "
        "the hours pass: where it was stopped, the hours in the tables are fewer."
    )


def summary(found: Found) -> str:
    """A line for each manner, against what is asked."""
    rows = [
        (f"ears {manner}", *_cells(found.total(manner)), _verdict(found.total(manner))) for manner in _manners(found)
    ]
    return table(("manner", *_HEAD, f"asked: at most {ASKED:g}"), rows)


def _manners(found: Found) -> list[str]:
    """Those that were listened in."""
    return [each for each in MANNERS if found.total(each).seconds]


def _hours(found: Found, kind: str) -> float:
    """Of sound; every manner hears the same."""
    return max(found.total(each, kind).seconds for each in MANNERS) / 3600


def rate(count: Count) -> str:
    """As '0.10 (0.02-0.29)'."""
    hours = count.seconds / 3600
    low, high = garwood(count.executed)
    return f"{count.executed / hours:.2f} ({low / hours:.2f}-{high / hours:.2f})" if hours else "-"


def _verdict(count: Count) -> str:
    hours = count.seconds / 3600
    if not hours:
        return "-"
    above = count.executed / hours - ASKED
    sure = "" if garwood(count.executed)[1] / hours <= ASKED else ", but the interval goes beyond it"
    return f"short by {above:.2f}" if above > 0 else f"met{sure}"


def _cells(count: Count) -> Iterator[str]:
    yield f"{count.seconds / 3600:.2f}"
    yield f"{count.open_s / 3600:.2f}"
    yield from map(str, (count.opened, count.begun, count.refused, count.doubted, count.executed))
    yield rate(count)


def _sounds(found: Found, talk: Mapping[str, Talk]) -> str:
    parts = [
        f"Noise alone: {', '.join(NOISES)}, a minute each, at {_span(sound.NOISE_DB)} dB of full scale.",
        _distinct("radio", "Radio", found, talk)
        + f" At {_span(sound.RADIO_DB)} dB, every second minute or so through a room, with noise "
        f"{_span(sound.BELOW_RADIO_DB)} dB below.",
        _distinct("talk", "Talk", found, talk)
        + f" At {_span(sound.TALK_DB)} dB, in another room each minute, {_span(sound.GAP_S)} s between sentences, with "
        f"noise {_span(sound.BELOW_TALK_DB)} dB below.",
        "All of it is synthetic speech, which is not human speech. The intervals are those of Garwood 1936 for "
        "commands that come independently of each other; where the same recordings come again and again they do not "
        "quite, so the true intervals are wider.",
    ]
    return "\n\n".join(parts)


def _distinct(kind: str, name: str, found: Found, talk: Mapping[str, Talk]) -> str:
    """How much different talk there is, which is little."""
    here, hours = talk[kind], _hours(found, kind)
    return (
        f"{name}: {here.seconds / 60:.1f} minutes of distinct talk ({several(len(here.files), 'recording')}, "
        f"{several(here.voices, 'voice')}) make {hours:.2f} hours; all the rest is the same talk again at other "
        f"levels, tempos ({_span(sound.TEMPO)}, the pitch goes with it), rooms and noises."
    )


def _span(ends: tuple[float, float]) -> str:
    return f"{ends[0]:g} to {ends[1]:g}"


def _by_ask(found: Found, manner: str) -> str:
    rows = []
    for kind in KINDS:
        rows += [(kind, ask, *_cells(found.total(manner, kind, ask))) for ask in dict.fromkeys(ASKS)]
        rows.append((kind, "all", *_cells(found.total(manner, kind))))
    rows += [("all", ask, *_cells(found.total(manner, ask=ask))) for ask in dict.fromkeys(ASKS)]
    return table(("background", "ask", *_HEAD), rows)


def _listed(found: Found, manner: str) -> str:
    rows = [_row(each) for each in found.executed if each.manner == manner]
    return table(("background", "s into it", "ask", "taken for", "score", "what played"), rows) if rows else "Nothing."


def _row(each: Executed) -> tuple[str, ...]:
    return (each.kind, f"{each.at_s:.1f}", each.ask, each.text, f"{each.score:.2f}", each.playing)


def memory(found: Found) -> str:
    """Resident memory of each process when its ears had been opened, and over its pieces of each kind."""
    rows = []
    for number, process in enumerate(dict.fromkeys(each.process for each in found.held), 1):
        here = [each for each in found.held if each.process == process]
        rows.append((number, len(here), f"{here[0].opened_mb:.0f}", *(_held(here, kind) for kind in KINDS)))
    head = ("process", "pieces", "ears opened", *(f"{kind}: first, middle, last piece" for kind in KINDS))
    return (
        "Resident memory, MB, with the sound's making, its recordings and all manners. At first it grows with what is "
        f"read once, grammars' graphs among it; flat is what does not grow from the middle on.\n\n{table(head, rows)}"
    )


def _held(here: Sequence[Held], kind: str) -> str:
    of_kind = [each.now_mb for each in here if each.kind == kind]
    return ", ".join(f"{of_kind[at]:.0f}" for at in (0, len(of_kind) // 2, -1)) if of_kind else "-"


def _work(found: Found) -> str:
    rows = []
    for kind, worked in found.worked_s.items():
        hours = _hours(found, kind)
        rows.append((kind, f"{hours:.2f}", f"{worked / hours / 60:.1f}"))
    whole = table(("background", "hours", "minutes an hour"), rows)
    return f"Processor time, all manners and the sound's making:\n\n{whole}"
