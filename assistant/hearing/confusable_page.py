"""The report on phrases that sound alike: docs/hearing/confusable.md."""

from collections.abc import Iterable

from assistant.hearing.confusable import LEAST, Clash, Stump, clashes, drawn, excuse_clash, excuse_stump, stumps
from assistant.hearing.page import table
from assistant.speech.grammars import asks


def confusable_page(size: int) -> str:
    """Markdown over every ask, `size` sentences drawn for each."""
    found = [(clash, each) for each in asks() for clash in clashes(each, drawn(each, size))]
    cut = [(stump, each) for each in asks() for stump in stumps(each, drawn(each, size))]
    return (
        "# Phrases that sound alike\n\n"
        f"Written by `python -m assistant.hearing confusable`; {size} sentences drawn for each ask, or all of fewer. "
        f"Every pair of one ask that is nearer than {LEAST:g} phones and means different things; phone costs: "
        "`assistant/hearing/phones.toml`.\n\n"
        f"{_clashes(found)}\n\n"
        "## Sentences that are the beginning of another with another value\n\n"
        "Shape: last word of the beginning + first word of the rest; N number, F fraction, units in the singular.\n\n"
        f"{_stumps(cut)}\n"
    )


def _clashes(found: Iterable[tuple[Clash, str]]) -> str:
    where = dict[tuple[str, str], list[tuple[Clash, str]]]()
    for clash, ask in found:
        where.setdefault(clash.pair, []).append((clash, ask))
    rows = []
    for pair, each in sorted(where.items(), key=lambda one: (one[1][0][0].apart, one[0])):
        clash = each[0][0]
        rows.append((*pair, f"{clash.apart:g}", ", ".join(ask for _, ask in each), clash.example, excuse_clash(clash)))
    return table(("one", "other", "phones apart", "asks", "for example in", "allowed because"), rows)


def _stumps(cut: Iterable[tuple[Stump, str]]) -> str:
    where = dict[str, list[tuple[Stump, str]]]()
    for stump, ask in cut:
        where.setdefault(stump.shape, []).append((stump, ask))
    rows = []
    for shape, each in sorted(where.items()):
        reasons = dict.fromkeys(excuse_stump(stump) for stump, _ in each)
        rows.append((shape, ", ".join(ask for _, ask in each), each[0][0].example, "; ".join(reasons)))
    return table(("shape", "asks", "for example", "allowed because"), rows)
