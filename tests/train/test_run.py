"""From a corpus folder to a checkpoint to a model folder's final.mdl, small: each step by its command, twice where it
says it can be run again. Needs torch (extra train).
"""

import shutil
from pathlib import Path

import numpy as np
import pytest

from assistant.exits import Exit
from assistant.shelf import model_folder
from assistant.train.corpus import CorpusWriter
from assistant.train.lexicon import Phones
from tests.train.noise_corpus import noise_corpus

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train.__main__ import main  # noqa: E402
from assistant.train.run import start_from  # noqa: E402
from assistant.train.unpack import read_network, read_networks  # noqa: E402

PHONES = model_folder() / "graph" / "phones.txt"


@pytest.fixture(scope="module")
def corpus(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return noise_corpus(tmp_path_factory.mktemp("corpus"))


def train(corpus: Path, checkpoint: Path, *more: str) -> int:
    return main([
        "train", "--corpus", str(corpus), "--phones", str(PHONES), "--speech-data", str(corpus / "speech"),
        "--checkpoint", str(checkpoint), "--wide", "16", "--narrow", "4", "--share", "0.02", *more,
    ])  # fmt: skip


@pytest.fixture(scope="module")
def trained(corpus: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("trained")
    both = ("--cross-entropy-steps", "2", "--mmi-steps", "2", "--snapshot", "1")
    assert train(corpus, folder / "small.npz", *both) == Exit.DONE
    return folder


def weights(file: Path) -> dict[str, torch.Tensor]:
    return start_from(file, torch.device("cpu")).state_dict()


def test_a_network_is_trained_packed_and_read_back(trained: Path, tmp_path: Path) -> None:
    assert {each.name for each in trained.iterdir()} == {"small.npz", "small.ce.npz", "small.1.npz", "small.2.npz"}
    model = shutil.copytree(model_folder(), tmp_path / "model")
    for _ in range(2):
        assert main(["pack", "--checkpoint", str(trained / "small.npz"), "--model", str(model)]) == Exit.DONE
    ours = start_from(trained / "small.npz", torch.device("cpu")).eval()
    packed = read_network(model / "am" / "final.mdl")
    heard = torch.randn(80, 1, 40) * 8
    with torch.no_grad():
        one, two = ours(heard), packed(heard)
    assert torch.allclose(one, two, atol=0.02 * float(one.std()))


def test_the_seed_decides(corpus: Path, trained: Path, tmp_path: Path) -> None:
    assert train(corpus, tmp_path / "b.npz", "--cross-entropy-steps", "2", "--mmi-s", "0") == Exit.DONE
    mine, other = weights(trained / "small.ce.npz"), weights(tmp_path / "b.npz")
    assert all(torch.equal(mine[name], other[name]) for name in mine)


def test_a_checkpoint_is_gone_on_from(corpus: Path, trained: Path, tmp_path: Path) -> None:
    """At a rate of almost nothing its weights stay."""
    start = ("--cross-entropy-s", "0", "--mmi-steps", "1", "--mmi-rate", "1e-9", "--start", str(trained / "small.npz"))
    assert train(corpus, tmp_path / "d.npz", *start) == Exit.DONE
    before, after = weights(trained / "small.npz"), weights(tmp_path / "d.npz")
    for name in ("first.weight", "layers.5.affine.weight", "output.bias", "mean", "scale"):
        assert torch.allclose(before[name], after[name], atol=1e-3)


def test_a_packed_network_is_gone_on_from(corpus: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The second of the model that ships, at a rate of almost nothing."""
    packed = model_folder() / "am" / "final.mdl"
    start = ("--cross-entropy-s", "0", "--mmi-steps", "1", "--mmi-rate", "1e-9", "--start", str(packed), "--number")
    assert train(corpus, tmp_path / "e.npz", *start, "1") == Exit.DONE
    before, after = read_networks(packed)[1].state_dict(), weights(tmp_path / "e.npz")
    for name in ("layers.5.linear.weight", "last_linear.weight", "output.weight"):
        assert torch.allclose(before[name], after[name], atol=1e-3)
    assert float(after["layers.5.norm.running_mean"].abs().mean()) > 0.1
    assert train(corpus, tmp_path / "f.npz", *start, "2") == Exit.USAGE
    assert capsys.readouterr().err.endswith("has 2 networks, the first is 0; there is no 2\n")


def test_a_corpus_that_is_not_aligned_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    CorpusWriter(tmp_path).add(np.zeros(9, np.int16), "synthetic", "x", "task", ["yes"])
    assert train(tmp_path, tmp_path / "x.npz") == Exit.USAGE
    assert capsys.readouterr().err == f"assistant.train: {tmp_path}: nothing is aligned; run 'align' first\n"


def test_phones_are_numbered_as_the_packed_model_has_them() -> None:
    assert len(Phones(PHONES).plain) == 39
