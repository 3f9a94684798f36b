"""A calibration written down: trust.toml for the program, a page with the reliability plot for people."""

from collections.abc import Sequence

from assistant.hearing.chart import Chart, Dot, Series, draw
from assistant.hearing.fit import Bin, Fitted, bought, reliability
from assistant.hearing.outcome import Outcome
from assistant.hearing.page import grouped, table
from assistant.speech.trust import Trust

FILES = ("calibration.md", "reliability.svg")
"""The page and its plot."""
FILES_OF_TWO = ("calibration-two-ears.md", "reliability-two-ears.svg")
THRESHOLDS = (0.0, 0.25, 0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95)


def trust_toml(trust: Trust) -> str:
    """The data file of the package."""
    lines = [
        "# Written by `python -m assistant.hearing fit`; not edited by hand. See assistant/speech/trust.py.",
        f'model = "{trust.model}"',
        *(f"{name} = {getattr(trust, name):.6g}" for name in ("bias", "accept", "accept_at_once", "ask_again")),
        "[weights]",
        *(f"{name} = {weight:.6g}" for name, weight in trust.weights.items()),
    ]
    return "\n".join(lines) + "\n"


def fit_page(fitted: Fitted, outcomes: Sequence[Outcome], source: str, *, two: bool = False) -> str:
    """Markdown; `two` = the calibration of two ears, `outcomes` those about which the second was asked."""
    ears, option, plot = ("two ears", " --second-ear", FILES_OF_TWO[1]) if two else ("one ear", "", FILES[1])
    voices = sorted({each.item.voice for each in outcomes})
    trust = fitted.trust
    weights = [("bias", f"{trust.bias:.4g}"), *((name, f"{weight:.4g}") for name, weight in trust.weights.items())]
    bins = [(f"{each.foretold:.3f}", each.right) for each in reliability(fitted.foretold, fitted.right)]
    return (
        f"# How far what {ears} heard can be trusted\n\n"
        f"Written by `python -m assistant.hearing fit{option}`. Development recordings only ({source}; voices "
        f"{', '.join(voices)}): {len(fitted.used)} times something was understood, {int(fitted.right.sum())} times "
        "rightly; the traits are explained in `assistant/speech/trust.py` and `two_ears.py`. All below is "
        f"cross-validated by recording.\n\n{table(('trait', 'weight'), weights)}\n\n"
        f"Log loss {fitted.log_loss:.4f} nats; {fitted.base_log_loss:.4f} for always foretelling the share that is "
        f"right. Taken from {trust.accept:.2f}, where no explicit yes follows from {trust.accept_at_once:.2f}; from "
        f"{trust.ask_again:.2f} to there it asks which sentence it was.\n\n"
        f"![Reliability]({plot})\n\n{table(('foretold', 'right, per cent'), bins)}\n\n"
        "## What a threshold buys\n\nOn the development recordings, per cent of sentences and of other speech; "
        f"threshold 0 is without calibration.\n\n{_bought(fitted, outcomes)}\n"
    )


def _bought(fitted: Fitted, outcomes: Sequence[Outcome]) -> str:
    likely = {id(each): float(p) for each, p in zip(fitted.used, fitted.foretold, strict=True)}
    rows = []
    for name, group in grouped(outcomes, lambda each: each.condition).items():
        used = [each for each in group if id(each) in likely]
        for threshold in THRESHOLDS:
            found = bought(group, [likely[id(each)] for each in used], used, threshold)
            rows.append((name, f"{threshold:g}", found.right, found.wrong, found.accepted))
    return table(("condition", "threshold", "right", "wrong taken", "other speech taken"), rows)


def reliability_plot(bins: Sequence[Bin]) -> str:
    """SVG: foretold against found, the diagonal being perfect."""
    dots = [Dot(each.foretold * 100, each.right.percent, *each.right.interval) for each in bins]
    ticks = [(str(each), float(each)) for each in range(0, 101, 20)]
    found, even = Series("found", dots), Series("as foretold", [Dot(0, 0), Dot(100, 100)], asked=True)
    axes = ("foretold, per cent", "right, per cent")
    return draw(Chart("Probability foretold and found", *axes, ticks, [x for _, x in ticks], [found, even]))
