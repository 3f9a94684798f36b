"""The calibration written down: trust.toml for the program, a page with the reliability plot for people."""

from collections.abc import Sequence

from assistant.hearing.chart import Chart, Dot, Series, draw
from assistant.hearing.fit import Bin, Fitted, bought, reliability
from assistant.hearing.outcome import Outcome
from assistant.hearing.page import grouped, table
from assistant.speech.trust import NAMES, Trust

THRESHOLDS = (0.0, 0.25, 0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95)


def trust_toml(trust: Trust) -> str:
    """The data file of the package."""
    lines = [
        "# Written by `python -m assistant.hearing fit`; not edited by hand. See assistant/speech/trust.py.",
        f'model = "{trust.model}"',
        *(f"{name} = {getattr(trust, name):.6g}" for name in ("bias", "accept", "ask_again")),
        "[weights]",
        *(f"{name} = {trust.weights[name]:.6g}" for name in NAMES),
    ]
    return "\n".join(lines) + "\n"


def fit_page(fitted: Fitted, outcomes: Sequence[Outcome], source: str) -> str:
    """Markdown."""
    voices = sorted({each.item.voice for each in outcomes})
    trust = fitted.trust
    weights = [("bias", f"{trust.bias:.4g}"), *((name, f"{trust.weights[name]:.4g}") for name in NAMES)]
    bins = [(f"{each.foretold:.3f}", each.right) for each in reliability(fitted.foretold, fitted.right)]
    return (
        "# How far what was heard can be trusted\n\n"
        f"Written by `python -m assistant.hearing fit`. Development recordings only ({source}; voices "
        f"{', '.join(voices)}): {len(fitted.used)} times something was understood, {int(fitted.right.sum())} times "
        "rightly; the traits are explained in `assistant/speech/trust.py`. All below is cross-validated by recording."
        f"\n\n{table(('trait', 'weight'), weights)}\n\n"
        f"Log loss {fitted.log_loss:.4f} nats; {fitted.base_log_loss:.4f} for always foretelling the share that is "
        f"right. Taken from {trust.accept:.2f}; from {trust.ask_again:.2f} to there it asks which sentence it was.\n\n"
        f"![Reliability](reliability.svg)\n\n{table(('foretold', 'right, per cent'), bins)}\n\n"
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
