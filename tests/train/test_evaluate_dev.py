"""The development figures: counting, noise, and the shipped model hearing two recordings that ship."""

import shutil
from pathlib import Path

import numpy as np
import pytest

from assistant.exits import Exit, Refusal
from assistant.shelf import model_folder, recordings_folder
from assistant.train.__main__ import main
from assistant.train.corpus import CorpusWriter
from assistant.train.evaluate_dev import LEAD, TAIL, Condition, Tally, heard_as, pink, trials


def test_every_outcome_is_counted_by_hand() -> None:
    tally = Tally()
    for said, heard in [
        ("yes", "yes"), ("yes", "no"), ("yes", ""), ("yes", "[unk]"), ("no", "no [unk]"),
        (None, ""), (None, "yes"), (None, "[unk] [unk]"), (None, "[unk] yes"),
    ]:  # fmt: skip
        tally.add(said, heard)
    assert (tally.inside, tally.right, tally.refused, tally.outside, tally.accepted) == (5, 1, 3, 4, 1)
    assert str(tally) == "right 20.0 % of 5, refused 60.0 %, accepted 25.0 % of 4 others"
    assert str(Tally()) == "right - of 0, refused -, accepted - of 0 others"


def test_pink_noise_loses_half_its_power_an_octave() -> None:
    """3.01 dB an octave, the definition of 1 / f; fitted over five octaves, deviation 1."""
    noise = pink(1 << 17, np.random.default_rng(1))
    assert noise.std() == pytest.approx(1.0)
    power = np.abs(np.fft.rfft(noise)) ** 2
    octaves = [power[1 << k : 2 << k].mean() for k in range(9, 15)]
    slope = np.polyfit(range(6), 10 * np.log10(octaves), 1)[0]
    assert slope == pytest.approx(-3.01, abs=0.15)


@pytest.mark.parametrize("decibels", [20.0, 10.0, 0.0])
def test_the_noise_has_the_ratio_it_says(decibels: float) -> None:
    """Speech and noise are told apart by the same draw without the noise: what is left over is the noise."""
    speech = (3000 * np.sin(np.arange(32000) / 7)).astype(np.int16)
    loud = np.frombuffer(heard_as(speech, Condition(decibels), np.random.default_rng(2)), "<i2").astype(float)
    assert len(loud) == len(speech) + LEAD + TAIL
    still = loud[: LEAD - 100]
    middle = loud[LEAD : LEAD + len(speech)]
    level = np.sqrt(2) * np.abs(np.fft.rfft(middle * np.sin(np.arange(32000) / 7))[0]) / 32000
    measured = 20 * np.log10(level / max(still.std(), 1e-9))
    assert measured == pytest.approx(decibels, abs=3.0)


def test_clean_is_silence_around_the_clip_at_a_level_within_bounds() -> None:
    speech = np.random.default_rng(1).normal(0, 2000, 16000).astype(np.int16)
    levels = []
    for seed in range(30):
        heard = np.frombuffer(heard_as(speech, Condition(), np.random.default_rng(seed)), "<i2").astype(float)
        assert 1.5 < heard[:LEAD].std() < 2.2, "deviation 2, cut to whole numbers"
        levels.append(20 * np.log10(heard[LEAD:-TAIL].std() / 32768))
    assert -30.2 < min(levels) < -26 and -18 < max(levels) < -13.8


def test_the_kind_of_a_clip_names_its_ask(tmp_path: Path) -> None:
    writer = CorpusWriter(tmp_path)
    writer.add(np.array([1, 2], np.int16), "synthetic", "x", "task pull", ["three", "eighths"])
    writer.add(np.array([3], np.int16), "synthetic", "x", "other confirm", ["hello"])
    told = [(each.ask, each.said, each.samples.tolist()) for each in trials(tmp_path)]
    assert told == [("confirm", None, [3]), ("pull", "three eighths", [1, 2])]


def test_a_clip_that_names_no_ask_is_refused_by_line(tmp_path: Path) -> None:
    """As `synthesise` makes them: such a corpus is to train on."""
    writer = CorpusWriter(tmp_path)
    for kind in ("task pull", "task"):
        writer.add(np.array([1, 2], np.int16), "synthetic", "x", kind, ["yes"])
    with pytest.raises(Refusal, match=r"clips\.jsonl line 2: kind 'task'; must be 'task ASK' or 'other ASK'"):
        trials(tmp_path)


@pytest.fixture
def recorded(tmp_path: Path) -> Path:
    """Two sentences of their ask and one line of talk, clean, by a synthetic voice; as `recordings` leaves them."""
    shelf = recordings_folder() / "evaluation"
    head, *lines = (shelf / "manifest.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines]
    tasks = [row for row in rows if row[6] == "task" and row[4] == "af_heart" and row[1] == "pull"][:2]
    others = [row for row in rows if row[6] == "talk" and row[4] == "af_heart"][:1]
    assert len(tasks) == 2 and len(others) == 1
    for row in tasks + others:
        shutil.copy(shelf / row[0], tmp_path / row[0])
    told = [head, *("\t".join(row) for row in tasks + others)]
    (tmp_path / "manifest.tsv").write_text("\n".join(told) + "\n", encoding="utf-8")
    return tmp_path


def test_the_shipped_model_hears_recordings_that_ship(recorded: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["evaluate", "--corpus", str(recorded), "--model", str(model_folder()), "--noise", "30"]) == 0
    told = "right 100.0 % of 2, refused 0.0 %, accepted 0.0 % of 1 others"
    assert capsys.readouterr().out.splitlines() == [f"clean: {told}", f"pink 30 dB: {told}"]


def test_a_broken_line_of_a_development_set_is_named(recorded: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with (recorded / "manifest.tsv").open("a", encoding="utf-8") as lines:
        print("x.ogg\tpull\tthree eighths", file=lines)
    assert main(["evaluate", "--corpus", str(recorded), "--model", str(model_folder())]) == Exit.USAGE
    assert capsys.readouterr().err.startswith(f"assistant.train: {recorded}/manifest.tsv line 5: 3 cells;")
