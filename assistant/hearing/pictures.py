"""The pictures of the results page: what was right and what was wrongly taken, by noise and ratio."""

from collections.abc import Sequence

from assistant.hearing.chart import Chart, Dot, Series, draw
from assistant.hearing.outcome import Measures, Outcome, Share, measure
from assistant.hearing.page import ASKED, ASKED_ACCEPTED, Results, grouped
from assistant.hearing.sound import Condition


def pictures(results: Results, under: Sequence[Condition]) -> dict[str, str]:
    """File name -> SVG."""
    engines = [(results.engine, results.outcomes), (results.against, results.others)]
    heard = [(name, _measured(outcomes)) for name, outcomes in engines if outcomes]
    right = [line for name, found in heard for line in _lines(name, {k: m.right for k, m in found.items()}, under)]
    taken = [line for name, found in heard for line in _lines(name, {k: m.accepted for k, m in found.items()}, under)]
    places = _places(under)
    ticks = [("clean" if ratio is None else f"{ratio:g}", float(at)) for ratio, at in places.items()]
    asked = Series(
        "asked for", [Dot(places[each.snr_db], ASKED[str(each)]) for each in under if str(each) in ASKED], True
    )
    most = Series("asked for", [Dot(float(at), ASKED_ACCEPTED) for at in places.values()], True)
    axis = "speech to noise, decibels"
    everything, fifth = [0.0, 20.0, 40.0, 60.0, 80.0, 100.0], [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0]
    return {
        "right.svg": draw(
            Chart("Sentences understood with all values", axis, "per cent", ticks, everything, [*right, asked])
        ),
        "accepted.svg": draw(
            Chart("Other speech taken for a sentence", axis, "per cent", ticks, fifth, [*taken, most])
        ),
    }


def _measured(outcomes: Sequence[Outcome]) -> dict[str, Measures]:
    synthetic = [each for each in outcomes if not each.item.human]
    return {name: measure(each) for name, each in grouped(synthetic, lambda one: one.condition).items()}


def _places(under: Sequence[Condition]) -> dict[float | None, int]:
    """Ratio -> place on the axis: clean first, then from the highest ratio down."""
    ratios = sorted({each.snr_db for each in under if each.snr_db is not None}, reverse=True)
    return {ratio: at for at, ratio in enumerate([None, *ratios])}


def _lines(engine: str, shares: dict[str, Share], under: Sequence[Condition]) -> list[Series]:
    places, clean = _places(under), shares.get(str(Condition()))
    lines = []
    for noise in dict.fromkeys(each.noise for each in under if each.noise):
        dots = [_dot(places[None], clean)] if clean and clean.whole else []
        for each in under:
            found = shares.get(str(each))
            if each.noise == noise and found and found.whole:
                dots.append(_dot(places[each.snr_db], found))
        lines.append(Series(f"{engine}, {noise}", dots))
    return lines or ([Series(engine, [_dot(0, clean)])] if clean and clean.whole else [])


def _dot(place: float, found: Share) -> Dot:
    low, high = found.interval
    return Dot(float(place), found.percent, low, high)
