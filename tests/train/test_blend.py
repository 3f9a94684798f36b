"""Corrections blended: by hand, and against numpy's own product of whole matrices. Needs no torch."""

from pathlib import Path

import numpy as np
import pytest

from assistant.exits import Exit
from assistant.speech.second_ear_files import LEFT, RIGHT
from assistant.train.__main__ import main
from assistant.train.blend import Correction, blend


def correction(seed: int, rank: int = 4) -> Correction:
    """Of one matrix, (12, 10), and one vector."""
    dice = np.random.default_rng(seed)
    left, right, vector = dice.normal(size=(12, rank)), dice.normal(size=(rank, 10)), dice.normal(size=12)
    return {each: value.astype(np.float16) for each, value in (("m" + LEFT, left), ("m" + RIGHT, right), ("v", vector))}


def product(some: Correction) -> np.ndarray:
    return some["m" + LEFT].astype(np.float64) @ some["m" + RIGHT].astype(np.float64)


def test_of_one_it_is_that_share() -> None:
    one = correction(1)
    found = blend([one], 0.6)
    assert product(found) == pytest.approx(0.6 * product(one), abs=0.01)
    assert found["v"] == pytest.approx(0.6 * one["v"].astype(np.float64), abs=1e-3)
    assert {name: (each.shape, each.dtype) for name, each in found.items()} == {
        name: (each.shape, each.dtype) for name, each in one.items()
    }


def test_of_two_it_is_the_nearest_sum_of_that_rank() -> None:
    """Eckart and Young 1936: what is left out is the sizes behind the rank, here the fifth on, by numpy's svd."""
    both = [correction(1), correction(2)]
    found, whole = blend(both, 0.35), 0.35 * (product(both[0]) + product(both[1]))
    assert found["m" + LEFT].shape == (12, 4)
    left_out = np.sqrt((np.linalg.svd(whole)[1][4:] ** 2).sum())
    assert left_out > 1
    assert np.linalg.norm(product(found) - whole) == pytest.approx(left_out, abs=0.02)
    assert found["v"] == pytest.approx(0.35 * (both[0]["v"] + both[1]["v"].astype(np.float64)), abs=2e-3)


def test_the_command_writes_what_the_second_ear_reads(tmp_path: Path) -> None:
    for number in (1, 2):
        np.savez(tmp_path / f"{number}.npz", **correction(number))
    files = [str(tmp_path / "1.npz"), str(tmp_path / "2.npz")]
    assert main(["blend", *files, "--share", "0.35", "--out", str(tmp_path / "both.npz")]) == 0
    with np.load(tmp_path / "both.npz") as found:
        for name, each in blend([correction(1), correction(2)], 0.35).items():
            assert np.array_equal(found[name], each), name


@pytest.mark.parametrize("broken", ["missing", "empty", "no array", "one array", "another rank"])
def test_a_file_that_does_not_fit_is_named(broken: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    np.savez(tmp_path / "one.npz", **correction(1))
    other = tmp_path / "other.npz"
    if broken == "empty":
        other.touch()
    elif broken == "no array":
        other.write_bytes(b"no array at all")
    elif broken == "one array":
        with other.open("wb") as content:
            np.save(content, np.zeros(3))
    elif broken == "another rank":
        np.savez(other, **correction(2, rank=5))
    assert main(["blend", str(tmp_path / "one.npz"), str(other), "--out", str(tmp_path / "out.npz")]) == Exit.USAGE
    assert "other.npz" in capsys.readouterr().err
    assert not (tmp_path / "out.npz").exists()
