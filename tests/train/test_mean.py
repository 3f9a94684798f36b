"""Packed models averaged, against loops over weights that were averaged by hand. Needs torch (extra train)."""

from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.exits import Exit
from assistant.train.__main__ import main
from assistant.train.lexicon import Phones, phone_table
from assistant.train.network import Size
from assistant.train.pack import write_model
from assistant.train.unpack import read_networks
from tests.train.by_hand import SMALLEST, forward, random_weights

SMALL = Size(outputs=6, inputs=5, wide=8, narrow=3)
FRAME = 34


def weights(seed: int, size: Size = SMALL) -> dict[str, np.ndarray]:
    """Norms that do nothing, so that packing folds nothing and the weights can be averaged as they stand."""
    made = random_weights(size, seed)
    made |= {name: np.zeros_like(each) for name, each in made.items() if name.endswith("mean")}
    made |= {name: np.full_like(each, 1 - SMALLEST) for name, each in made.items() if name.endswith("running_var")}
    return made | {"scale": np.ones_like(made["scale"])}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Of a model, its networks still to come."""
    for name in ("graph", "am"):
        (tmp_path / name).mkdir()
    (tmp_path / "graph" / "phones.txt").write_text(phone_table(["T", "UW"], {}), encoding="utf-8")
    return tmp_path


def packed(folder: Path, name: str, *networks: dict[str, np.ndarray]) -> str:
    write_model(networks, Phones(folder / "graph" / "phones.txt").states(), folder / name)
    return str(folder / name)


def test_each_network_is_the_mean_of_those_at_its_place(folder: Path) -> None:
    before, after = (weights(1), weights(2)), (weights(3), weights(4))
    files = [packed(folder, "before.mdl", *before), packed(folder, "after.mdl", *after)]
    assert main(["mean", *files, "--model", str(folder)]) == 0
    cepstra = np.random.default_rng(2).normal(0, 2, (2 * FRAME + 1, SMALL.inputs))
    found = read_networks(folder / "am" / "final.mdl")
    assert len(found) == 2
    for network, one, other in zip(found, before, after, strict=True):
        by_hand = {name: (one[name] + other[name]) / 2 for name in one}
        wanted = forward(by_hand, cepstra, FRAME)
        state = {name: each.numpy() for name, each in network.state_dict().items()}
        assert np.abs(forward(state, cepstra, FRAME) - wanted).max() < 1e-3 * np.abs(wanted).max()
        assert np.abs(forward(one, cepstra, FRAME) - wanted).max() > 0.1 * np.abs(wanted).max()


def test_a_model_that_does_not_fit_is_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one = packed(folder, "one.mdl", weights(1))
    wider, no_model, missing = packed(folder, "wide.mdl", weights(2, Size(6, 5, 9, 3))), folder / "no.mdl", folder / "x"
    no_model.write_bytes(b"no model")
    for other, code, why in [
        (wider, Exit.USAGE, f"other networks than {one}; average a model with what it became"),
        (packed(folder, "two.mdl", weights(1), weights(2)), Exit.USAGE, "other networks"),
        (str(no_model), Exit.BAD_MODEL, "no model of ours"),
        (str(missing), Exit.BAD_MODEL, "name the am/final.mdl of one"),
    ]:
        assert main(["mean", one, other, "--model", str(folder)]) == code
        said = capsys.readouterr().err
        assert f"{other}: " in said and why in said
    assert not (folder / "am" / "final.mdl").exists()


def test_the_phone_table_of_another_model_is_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, table = packed(folder, "one.mdl", weights(1)), folder / "graph" / "phones.txt"
    table.write_text(phone_table(["T", "UW", "IY"], {}), encoding="utf-8")
    assert main(["mean", one, one, "--model", str(folder)]) == Exit.BAD_MODEL
    assert f"{table}: 8 outputs, {one} has 6; take the table" in capsys.readouterr().err
    assert not (folder / "am" / "final.mdl").exists()
