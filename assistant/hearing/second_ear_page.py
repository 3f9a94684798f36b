"""The page on the second ear: markdown, from what one ear and two made of the same sound."""

import os
from collections.abc import Callable, Iterable, Sequence

from assistant.hearing.outcome import Outcome, Share, compare, share
from assistant.hearing.page import table, told_apart
from assistant.hearing.second_ear import Twice
from assistant.hearing.statistics import quantile
from assistant.speech.two_ears import DISSENT, PATIENCE_S, SPARE_S, SURE

_SHOWN = 30
"""Sentences lost and wrong ones let through that are listed."""
Group = Sequence[Twice]


def second_ear_page(found: Group, command: str, names: tuple[str, str], load: float) -> str:
    """Markdown; `names` of the two ears, `load` of the machine meanwhile: processes that wanted a core."""
    parts = ["# What a second ear buys", _preface(command, names, load)]
    for human, title in ((False, "Synthetic speech"), (True, "Human speech")):
        here = [each for each in found if each.one.item.human == human]
        if here:
            parts += [f"## {title}", _counted(here), gains_table(here), "### What it costs", costs_table(here)]
            parts += [
                "### Wrong, and taken by two ears",
                _listed(here, lambda each: each.two.taken and not each.two.right),
                "### Right by one ear, and not by two",
                _listed(here, lambda each: each.one.right and each.one.taken and not each.two.right),
            ]
    return "\n\n".join(parts) + "\n"


def _preface(command: str, names: tuple[str, str], load: float) -> str:
    wanted = round(load)
    return (
        f"Written by `{command}`; not edited by hand. First ear: {names[0]}. Second ear: {names[1]}.\n"
        f"The second is asked where the first is less than {SURE:g} sure or finds no sentence in speech, and at "
        "numbers, where what the first is sure of stands unless the second "
        f"finds another meaning likelier by more than {DISSENT:g} nats. What both together find likeliest is taken "
        "where their own calibration finds it likely enough. Nothing here was tuned on these recordings. The second "
        f"ear is never late here; in the program it is not waited for longer than {PATIENCE_S:g} s, and then the first "
        "ear's own calibration stands. Per 1,000 with 95 % Wilson intervals. "
        "Processor time is the ears' own, with the second's listening in the silence behind that sound (in the "
        f"program for at most {SPARE_S:g} s; it does not count by the clock, though some of it is waited for). By the "
        f"clock it took as long as it did because {wanted} process{'' if wanted == 1 else 'es'} wanted "
        f"one of {os.cpu_count()} cores at the end. "
        "Synthetic speech is not human speech."
    )


def _counted(found: Group) -> str:
    clean = next(iter(_by_condition(found).values()))
    inside = sum(each.one.item.inside for each in clean)
    return f"{told_apart(inside, len(clean))} under each condition."


def gains_table(found: Group) -> str:
    """Per condition and number of ears what was taken wrongly and asked again."""
    head = ("condition", "ears", "wrong values taken per 1,000 sentences", "other speech taken per 1,000",
            "asked again per 1,000 sentences", "right per 1,000 sentences", "McNemar p")  # fmt: skip
    rows = []
    for name, here in _by_condition(found).items():
        ones, twos = [each.one for each in here], [each.two for each in here]
        rows += [(name, "one", *_gains(ones), ""), (name, "two", *_gains(twos), f"{compare(ones, twos).p:.2g}")]
    return table(head, rows)


def _gains(outcomes: Sequence[Outcome]) -> list[str]:
    inside = [each for each in outcomes if each.item.inside]
    shares = (
        share(each.taken and not each.right for each in inside),
        share(each.taken for each in outcomes if not each.item.inside),
        share(not each.taken for each in inside),
        share(each.right for each in inside),
    )
    return [per_thousand(each) for each in shares]


def per_thousand(found: Share) -> str:
    """As '34.5 (23.1-51.4)'."""
    low, high = found.interval
    return f"{10 * found.percent:.0f} ({10 * low:.0f}-{10 * high:.0f})" if found.whole else "-"


def costs_table(found: Group) -> str:
    """Per condition how often the second ear is asked and what an answer takes."""
    head = ("condition", "asked, per cent of sentences", "of other speech", "first ear, CPU s a recording",
            "second ear, CPU s an answer, mean / p95", "by the clock, p50 / p95", f"over {PATIENCE_S:g} s")  # fmt: skip
    return table(head, [(name, *_costs(here)) for name, here in _by_condition(found).items()])


def _costs(here: Group) -> Iterable[object]:
    asked = [each.second_s for each in here if each.second_s]
    yield share(each.second_s is not None for each in here if each.one.item.inside)
    yield share(each.second_s is not None for each in here if not each.one.item.inside)
    yield f"{_mean([each.first_cpu_s for each in here]):.2f}"
    cpu, wall = [cpu_s for cpu_s, _ in asked], [wall_s for _, wall_s in asked]
    yield f"{_mean(cpu):.2f} / {quantile(cpu, 0.95):.2f}" if asked else "-"
    yield f"{quantile(wall, 0.5):.2f} / {quantile(wall, 0.95):.2f} s" if asked else "-"
    yield share(each > PATIENCE_S for each in wall)


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values) if values else float("nan")


def _listed(found: Group, wanted: Callable[[Twice], bool]) -> str:
    chosen = [each for each in found if wanted(each)]
    rows = [(each.one.condition, each.one.item.ask, each.one.item.text, _told(each.one), _told(each.two))
            for each in chosen[:_SHOWN]]  # fmt: skip
    more = f"\n\nAnd {len(chosen) - _SHOWN} more." if len(chosen) > _SHOWN else ""
    return table(("condition", "ask", "said", "one ear", "two ears"), rows) + more


def _told(outcome: Outcome) -> str:
    return f"{outcome.text} {outcome.score:.2f}"


def _by_condition(found: Group) -> dict[str, list[Twice]]:
    conditions = dict.fromkeys(each.one.condition for each in found)
    return {name: [each for each in found if each.one.condition == name] for name in conditions}
