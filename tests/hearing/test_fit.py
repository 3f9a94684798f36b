"""The calibration: fitted on made-up outcomes with a known law, and read back."""

import argparse
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.hearing import __main__ as command
from assistant.hearing.fit import Bin, bought, fit, reliability
from assistant.hearing.fit_page import fit_page, reliability_plot, trust_toml
from assistant.hearing.manifest import Item
from assistant.hearing.outcome import Outcome, Share
from assistant.shelf import model_folder, recordings_folder
from assistant.speech import trust, two_ears
from assistant.speech.second_ear import weights_sum
from assistant.speech.trust import NAMES, read_trust

USUAL, SPREAD = (4.0, 0.5, 0.1, 5.0, 0.4, -0.5, -1.0), 0.5
"""Of the traits that say nothing."""


def outcomes(count: int) -> list[Outcome]:
    """Margin decides: right with probability 1 / (1 + exp(-(2 margin - 1))); the other traits say nothing."""
    dice, found = np.random.default_rng(5), []
    for number in range(count):
        margin, rest = dice.uniform(0, 3), [dice.normal(each, SPREAD) for each in USUAL]
        right = dice.random() < 1 / (1 + np.exp(-(2 * margin - 1)))
        item = Item(Path(f"{number}.ogg"), "pull", "two inches", "reading 2 in", "am_liam", number, "task")
        meaning = "reading 2 in" if right else "reading 10 in"
        found.append(
            Outcome(item, "clean", "two inches", meaning, 1.0, 0.4, dict(zip(NAMES, (margin, *rest), strict=True)))
        )
    return found


def test_the_law_behind_the_outcomes_is_found() -> None:
    fitted = fit(outcomes(3000), "sum")
    assert fitted.trust.weights["margin"] == pytest.approx(2.0, abs=0.25)
    for name in NAMES[1:]:
        assert abs(fitted.trust.weights[name] * SPREAD) < 0.2
    usual = dict(zip(NAMES[1:], USUAL, strict=True))
    assert fitted.trust.probability({**usual, "margin": 0.5}) == pytest.approx(0.5, abs=0.05)
    assert fitted.trust.probability({**usual, "margin": 3.0}) == pytest.approx(1 / (1 + np.exp(-5)), abs=0.02)
    assert fitted.log_loss < 0.8 * fitted.base_log_loss


def test_what_was_foretold_happens() -> None:
    fitted = fit(outcomes(3000), "sum")
    for each in reliability(fitted.foretold, fitted.right, bins=5):
        low, high = each.right.interval
        assert low - 2 < 100 * each.foretold < high + 2


def test_nothing_to_learn_from_is_told() -> None:
    alike = [each for each in outcomes(50) if each.right]
    with pytest.raises(ValueError, match="all alike"):
        fit(alike, "sum")


def asked(told: list[Outcome]) -> list[Outcome]:
    """The second ear knows everything about them."""
    own = {"likely": 0.0, "unheard": 0.0}
    return [replace(each, traits={**each.traits, **own, "seconded": 5.0 if each.right else -5.0}) for each in told]


def test_outcomes_of_one_ear_do_not_count_for_two() -> None:
    told = outcomes(200)
    fitted = fit([*asked(told[::2]), *told[1::2]], "sum", two_ears.NAMES)
    assert len(fitted.used) == 100
    assert (*fitted.trust.weights,) == two_ears.NAMES
    assert fitted.log_loss < 0.1


def test_bins_have_equal_size_and_count_right() -> None:
    found = reliability(np.array([0.9, 0.1, 0.8, 0.2]), np.array([1.0, 0.0, 0.0, 1.0]), bins=2)
    assert found == [Bin(pytest.approx(0.15), Share(1, 2)), Bin(pytest.approx(0.85), Share(1, 2))]


def test_a_threshold_buys_fewer_wrong_for_fewer_right() -> None:
    item = Item(Path("a"), "pull", "two inches", "reading 2 in", "am_liam", 1, "task")
    other = Item(Path("b"), "pull", "hello", "none", "am_liam", 2, "talk")
    told = [
        Outcome(item, "clean", "two inches", "reading 2 in", 1.0, 0.4),
        Outcome(item, "clean", "ten inches", "reading 10 in", 1.0, 0.4),
        Outcome(item, "clean", "[unk]", "none", 1.0, 0.4),
        Outcome(other, "clean", "help", "help", 1.0, 0.4),
    ]
    used, likely = [told[0], told[1], told[3]], [0.9, 0.4, 0.6]
    everything, careful = (bought(told, likely, used, each) for each in (0.0, 0.5))
    assert (everything.right, everything.wrong, everything.accepted) == (Share(1, 3), Share(1, 3), Share(1, 1))
    assert (careful.right, careful.wrong, careful.accepted) == (Share(1, 3), Share(0, 3), Share(1, 1))
    assert bought(told, likely, used, 0.7).accepted == Share(0, 1)


def test_the_file_is_read_as_it_was_written(tmp_path: Path) -> None:
    fitted = fit(outcomes(300), "abc").trust
    (tmp_path / "trust.toml").write_text(trust_toml(fitted), encoding="utf-8")
    again = read_trust(tmp_path / "trust.toml")
    assert again.model == "abc"
    assert 0 < again.ask_again < again.accept < 1
    assert again.bias == pytest.approx(fitted.bias, rel=1e-5)
    assert [again.weights[each] for each in NAMES] == pytest.approx([fitted.weights[each] for each in NAMES], rel=1e-5)


def test_a_file_that_lacks_a_trait_is_refused() -> None:
    with pytest.raises(KeyError, match="seconded"):
        read_trust(names=two_ears.NAMES)


def test_the_page_of_two_ears_says_so() -> None:
    told = outcomes(400)
    page = fit_page(fit(told, "sum"), told, "400 recordings", two=True)
    assert "Taken from 0.60, where no explicit yes follows from 0.60; from 0.33" in page
    assert page.startswith("# How far what two ears heard can be trusted")
    assert "fit --second-ear`" in page
    assert "(reliability-two-ears.svg)" in page


def test_the_page_and_the_plot_tell_the_figures() -> None:
    told = outcomes(400)
    fitted = fit(told, "sum")
    page = fit_page(fitted, told, "400 recordings")
    assert f"Log loss {fitted.log_loss:.4f} nats" in page
    assert "voices am_liam" in page
    assert "| clean | 0.75 |" in page
    assert reliability_plot(reliability(fitted.foretold, fitted.right)).count("<circle") == 8


@pytest.mark.parametrize("two", [False, True])
def test_the_command_writes_the_calibration_that_it_was_asked_for(
    two: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    engines = list[str]()

    def run(engine, items, under, tell):  # type: ignore[no-untyped-def]
        engines.append(engine.name)
        tell(1, 1)
        return [*asked(outcomes(100)), *outcomes(50)] if two else outcomes(100)

    monkeypatch.setattr("assistant.hearing.trial.run", run)
    monkeypatch.setattr(trust, "FILE", tmp_path / "one.toml")
    monkeypatch.setattr(two_ears, "FILE", tmp_path / "two.toml")
    manifest = recordings_folder() / "evaluation" / "manifest.tsv"
    command._fit(
        argparse.Namespace(
            devsets=[manifest], second_ear=two, model=None, noise=["pink"], snr=[10.0], limit=3, out=tmp_path / "out"
        )
    )
    if two:
        assert engines == ["unjudged two ears"]
        written = read_trust(tmp_path / "two.toml", two_ears.NAMES)
        assert (written.accept, written.accept_at_once) == pytest.approx((3 / 5, 2 / 3), abs=1e-5)
        assert written.model == two_ears.both_sums(model_folder(), weights_sum())
        page = (tmp_path / "out" / "calibration-two-ears.md").read_text(encoding="utf-8")
        assert "3 recordings under clean, pink 10 dB, of which both ears chose about 100;" in page
    else:
        assert engines == ["unjudged"]
        written = read_trust(tmp_path / "one.toml")
        assert written.accept == written.accept_at_once == pytest.approx(3 / 5)
        assert written.model == trust.acoustic_sum(model_folder())
        assert (tmp_path / "out" / "calibration.md").exists()
    assert len([*tmp_path.glob("*.toml")]) == 1
    assert len([*(tmp_path / "out").glob("*.svg")]) == 1
