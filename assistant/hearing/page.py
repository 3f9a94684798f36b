"""The results page: markdown that the command writes itself, from outcomes alone."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.hearing.outcome import Difference, Measures, Outcome, Share, measure, share
from assistant.hearing.statistics import quantile
from assistant.hearing.words import confused

ASKED = {"clean": 98.0, "pink 20 dB": 97.0, "pink 10 dB": 95.0, "pink 5 dB": 88.0}
"""Per cent right that are asked for; pink noise stands for noise in general there."""
ASKED_ACCEPTED = 5.0
"""Per cent of other speech that may be taken for a sentence."""
_CONFUSED = 20
"""Pairs shown of the confusion table."""
Group = Sequence[Outcome]


@dataclass(frozen=True)
class Results:
    """What one engine did, and another on the same recordings where one was asked for."""

    engine: str
    outcomes: Group
    command: str
    """How to make them again."""
    against: str = ""
    others: Group = ()
    differences: tuple[tuple[str, Difference], ...] = ()
    """Per condition."""


def page(results: Results) -> str:
    """Markdown; synthetic and human speech in sections of their own."""
    parts = ["# How well it hears", _preface(results)]
    for title, human in (("Synthetic speech", False), ("Human speech", True)):
        outcomes = [each for each in results.outcomes if each.item.human == human]
        if outcomes:
            parts.append("\n\n".join(_section(title, results.engine, outcomes, charts=not human)))
    if results.others:
        parts.append(_against(results))
    return "\n\n".join(parts) + "\n"


def _preface(results: Results) -> str:
    return (
        f"Written by `{results.command}`; not edited by hand. Engine: {results.engine}.\n"
        "The recordings run through the whole ears, end-pointing included, as from a microphone; level, noise and "
        "room come from each recording's seed. *Right* = the meaning with all its values. Shares in per cent with "
        "95 % Wilson intervals. The ratio of speech to noise is that of the active speech. Synthetic speech is not "
        "human speech."
    )


def _section(title: str, engine: str, outcomes: Group, *, charts: bool) -> Iterator[str]:
    clean = [each for each in outcomes if each.condition == outcomes[0].condition]
    voices = len({each.item.voice for each in outcomes})
    inside = sum(each.item.inside for each in clean)
    yield f"## {title}"
    yield f"{told_apart(inside, len(clean))}, {several(voices, 'voice')}."
    yield conditions_table(outcomes)
    if charts:
        yield "![Right by condition](right.svg)\n\n![Other speech taken](accepted.svg)"
    yield f"### By ask, {clean[0].condition}"
    yield _by(clean, "ask", lambda each: each.item.ask)
    yield f"### By voice, {clean[0].condition}"
    yield _by(clean, "voice", lambda each: each.item.voice)
    yield f"### Other speech by kind, {clean[0].condition}"
    yield _kinds(clean)
    yield "### Number words taken for another, all conditions"
    yield _confusion(outcomes)
    yield f"### Everything not right, {clean[0].condition}"
    yield _failures(clean)


def grouped(outcomes: Group, key: Callable[[Outcome], str]) -> dict[str, list[Outcome]]:
    """Outcomes by `key`, in the order met."""
    found = defaultdict[str, list[Outcome]](list)
    for each in outcomes:
        found[key(each)].append(each)
    return dict(found)


def table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """A markdown table; a bar inside a cell is written out."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(str(each).replace("|", "\\|") for each in line) + " |" for line in lines)


def several(number: int, thing: str) -> str:
    """'1 voice', '2 voices'."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def told_apart(inside: int, recordings: int) -> str:
    """How many of the recordings are sentences and how many are not."""
    return f"{several(inside, 'sentence')} and {several(recordings - inside, 'recording')} of other speech"


def shown(file: Path) -> str:
    """As a page names a file: as it was given, but not by the folders of a machine."""
    return "/".join(file.parts[-2:]) if file.is_absolute() else file.as_posix()


def conditions_table(outcomes: Group) -> str:
    """All measures, a line for each condition."""
    head = [
        *("condition", "right", "asked", "wrong taken", "of it the act right", "refused"),
        *("of it the right one asked about", "sentence error", "word error", "cut short by end-pointing"),
        *("other speech taken", "end of speech to result, p50 / p95"),
    ]
    rows = [_measures(name, measure(each)) for name, each in grouped(outcomes, lambda each: each.condition).items()]
    return table(head, rows)


def _measures(name: str, found: Measures) -> list[str]:
    asked = ASKED.get(name) if found.right.whole else None
    return [
        name,
        str(found.right),
        "" if asked is None else _verdict(found.right.percent - asked, f"{asked:g}"),
        str(found.wrong),
        str(found.wrong_values),
        str(found.refused),
        str(found.offered),
        str(found.sentence_errors),
        *(f"{each.percent:.1f}" if each.whole else "-" for each in (found.word_errors, found.cut_short)),
        _accepted(found.accepted),
        _late(found.late_s),
    ]


def _verdict(ahead: float, asked: str) -> str:
    return f"{asked}: met" if ahead >= 0 else f"{asked}: short by {-ahead:.1f}"


def _accepted(found: Share) -> str:
    if not found.whole:
        return "-"
    return f"{found}, {_verdict(ASKED_ACCEPTED - found.percent, f'{ASKED_ACCEPTED:g}')}"


def _late(late_s: list[float]) -> str:
    return f"{1000 * quantile(late_s, 0.5):.0f} / {1000 * quantile(late_s, 0.95):.0f} ms" if late_s else "-"


def _by(outcomes: Group, name: str, key: Callable[[Outcome], str]) -> str:
    rows = []
    for value, each in sorted(grouped(outcomes, key).items()):
        found = measure(each)
        shares = (found.right, found.wrong, found.refused, found.cut_short, found.accepted)
        rows.append((value, found.right.whole, *shares))
    head = ("sentences", "right", "wrong taken", "refused", "cut short by end-pointing", "other speech taken")
    return table((name, *head), rows)


def _kinds(outcomes: Group) -> str:
    others = [each for each in outcomes if not each.item.inside]
    rows = [
        (kind, len(each), share(one.taken for one in each))
        for kind, each in sorted(grouped(others, lambda one: one.item.kind).items())
    ]
    return table(("kind", "recordings", "taken for a sentence"), rows)


def _confusion(outcomes: Group) -> str:
    spoken = [(each.item.text, each.text) for each in outcomes if each.item.inside and each.taken]
    found = confused(spoken).most_common(_CONFUSED)
    return table(("said", "heard", "times"), [(*pair, times) for pair, times in found])


def _failures(outcomes: Group) -> str:
    rows = [(each.item.file.name, each.item.ask, each.item.text, each.text, f"{each.score:.2f}", each.item.voice)
            for each in outcomes if not each.right]  # fmt: skip
    return table(("file", "ask", "said", "heard", "score", "voice"), rows)


def _against(results: Results) -> str:
    first = {name: measure(each) for name, each in grouped(results.outcomes, lambda one: one.condition).items()}
    second = {name: measure(each) for name, each in grouped(results.others, lambda one: one.condition).items()}
    rows = []
    for name, found in results.differences:
        one, other = first[name], second[name]
        rows.append(
            (
                name,
                one.right,
                other.right,
                one.accepted,
                other.accepted,
                found.only_first,
                found.only_second,
                f"{found.p:.2g}",
            )
        )
    head = ("condition", "right", f"right, {results.against}", "other speech taken", f"taken, {results.against}",
            "only the first right", "only the second right", "McNemar p")  # fmt: skip
    return (
        f"## {results.engine} against {results.against}\n\nThe same recordings, noises, grammars and end-pointing. "
        "McNemar over sentences and other speech together: exact below 25 disagreements, else with continuity "
        f"correction.\n\n{table(head, rows)}"
    )
