"""The second ear's correction: the network in torch is the one in numpy, learns, and hears what an end-pointer leaves.

Needs torch (extra train); small weights of its own, so the wheel's are not needed.
"""

from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.exits import Exit
from assistant.ports import RATE
from assistant.shelf import model_folder
from assistant.speech import second_ear_files, second_ear_net
from assistant.speech.second_ear_files import EMBEDDINGS, LEFT, RIGHT, correct, halve
from assistant.train.lexicon import Phones
from tests.train.noise_corpus import noise_corpus

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train import second_ear, tables  # noqa: E402
from assistant.train.__main__ import main  # noqa: E402
from assistant.train.run import Material  # noqa: E402
from assistant.train.second_ear import NOTHING, RANK, Dictation, Speech, Whisper, loss_of, train  # noqa: E402

PHONES = model_folder() / "graph" / "phones.txt"
WIDTH, TOKENS, PLACES = 12, 30, 500
END, BEGIN, MARK = 7, 8, 9


class OneTokenAWord:
    """Stands in for the tokenizer: every word is one token, by its length."""

    marks: ClassVar = {"<|endoftext|>": END, "<|notimestamps|>": MARK}

    def __init__(self, file: Path | None = None) -> None:
        self.file = file

    def tokens(self, word: str) -> tuple[int, ...]:
        return (10 + len(word),)


@pytest.fixture(scope="module")
def weights() -> dict[str, NDArray[np.float32]]:
    """As read_weights gives them, small."""
    dice = np.random.default_rng(2)

    def made(*shape: int) -> NDArray[np.float32]:
        return (dice.normal(size=shape) / np.sqrt(shape[-1])).astype(np.float32)

    found = {EMBEDDINGS: made(TOKENS, WIDTH)}
    for side in ("encoder", "decoder"):
        found[f"{side}/position_encodings/encodings"] = made(PLACES, WIDTH)
        found[f"{side}/layer_norm/gamma"] = 1 + 0.1 * made(WIDTH)
        found[f"{side}/layer_norm/beta"] = made(WIDTH)
    for number, bands in ((1, second_ear_net.MELS), (2, WIDTH)):
        found[f"encoder/conv{number}/weight"], found[f"encoder/conv{number}/bias"] = made(WIDTH, bands, 3), made(WIDTH)
    for layer in range(second_ear_net.LAYERS):
        own = {"linear_0": (3 * WIDTH, WIDTH), "linear_1": (WIDTH, WIDTH)}
        other = {"linear_0": (WIDTH, WIDTH), "linear_1": (2 * WIDTH, WIDTH), "linear_2": (WIDTH, WIDTH)}
        feed = {"linear_0": (4 * WIDTH, WIDTH), "linear_1": (WIDTH, 4 * WIDTH)}
        for side, parts in (("encoder", {"self_attention": own, "ffn": feed}),
                            ("decoder", {"self_attention": own, "attention": other, "ffn": feed})):  # fmt: skip
            for part, linears in parts.items():
                name = f"{side}/layer_{layer}/{part}"
                found[f"{name}/layer_norm/gamma"], found[f"{name}/layer_norm/beta"] = 1 + 0.1 * made(WIDTH), made(WIDTH)
                for linear, shape in linears.items():
                    found[f"{name}/{linear}/weight"], found[f"{name}/{linear}/bias"] = made(*shape), made(shape[0])
    return found


def shaken(network: Whisper) -> Whisper:
    """With a correction that changes something."""
    with torch.no_grad():
        for each in network.added.values():
            each.copy_(torch.randn_like(each) * 0.1)
    return network


def test_torch_and_numpy_are_one_network_and_add_one_correction(
    weights: dict[str, NDArray[np.float32]], tmp_path: Path
) -> None:
    """A sound of 1.2 s and four tokens: log probabilities of the next by both."""
    torch.manual_seed(3)
    network, tokens = shaken(Whisper(weights)), [BEGIN, MARK, 12, 15]
    written = network.correction()
    np.savez(tmp_path / "correction.npz", **written)
    with torch.no_grad():
        for name, each in network.added.items():
            each.copy_(torch.tensor(written[name].astype(np.float32)))
    sound = np.random.default_rng(4).normal(0, 0.1, 19200).astype(np.float32)
    with torch.no_grad():
        logits = network.decode(torch.tensor([tokens]), network.encode(network.features(torch.tensor(sound)[None])))
    both = {name: each.copy() for name, each in weights.items()}
    correct(both, tmp_path / "correction.npz")
    halve(both)
    heard = second_ear_net.encode(second_ear_net.features(sound, 1.2), both)
    state, _ = second_ear_net.decode([tokens], second_ear_net.begin(heard, both), both)
    found = torch.log_softmax(logits[0, -1], 0).numpy()
    assert found == pytest.approx(second_ear_net.likely(state, both)[0], abs=2e-3)
    uncorrected = dict(weights)
    halve(uncorrected)
    plain, _ = second_ear_net.decode([tokens], second_ear_net.begin(heard, uncorrected), uncorrected)
    assert np.abs(second_ear_net.likely(plain, uncorrected)[0] - found).max() > 0.1


def test_a_correction_leaves_embeddings_places_and_convolutions(weights: dict[str, NDArray[np.float32]]) -> None:
    names = set(Whisper(weights).correction())
    assert not {each for each in names if "encodings" in each or each in (EMBEDDINGS, "encoder/conv1/weight")}
    linear = "encoder/layer_0/ffn/linear_0/weight"
    assert {linear + LEFT, linear + RIGHT, "encoder/conv1/bias", "decoder/layer_norm/gamma"} <= names
    assert Whisper(weights).correction()[linear + LEFT].shape == (4 * WIDTH, RANK)


def test_what_was_learnt_is_written(weights: dict[str, NDArray[np.float32]]) -> None:
    network, linear = shaken(Whisper(weights)), "decoder/layer_3/attention/linear_1/weight"
    written, plain = network.correction(), weights[linear]
    change = written[linear + LEFT].astype(np.float32) @ written[linear + RIGHT].astype(np.float32)
    learnt = network.weight(linear).detach().numpy() - plain
    assert change == pytest.approx(learnt, abs=0.01)


def test_it_learns_what_is_said(weights: dict[str, NDArray[np.float32]], monkeypatch: pytest.MonkeyPatch) -> None:
    """Two sounds, two sentences: after some steps it tells them apart, from silence too."""
    monkeypatch.setattr(second_ear, "WARM", 5)
    monkeypatch.setattr(second_ear, "RATES", (0.02, 0.02))
    torch.manual_seed(5)
    sound = torch.randn(3, 9600) * 0.1 * torch.tensor([[1.0], [1.0], [0.0]])
    given = torch.tensor([[BEGIN, MARK, 12], [BEGIN, MARK, 15], [BEGIN, MARK, 0]])
    wanted = torch.tensor([[NOTHING, 12, END], [NOTHING, 15, END], [NOTHING, END, NOTHING]])
    network, batch = Whisper(weights), Dictation(sound, given, wanted)
    before = loss_of(network, batch, hide=False).item()
    assert train(network, lambda: batch, seconds=0.0, steps=60) == 60
    assert loss_of(network, batch, hide=False).item() < before / 2


def test_by_the_clock_it_ends_too(weights: dict[str, NDArray[np.float32]]) -> None:
    assert train(Whisper(weights), lambda: pytest.fail("no time for a batch"), seconds=1e-9) == 0


def test_what_is_hidden_is_some_frames_and_bands() -> None:
    torch.manual_seed(6)
    levels = torch.arange(80 * 90, dtype=torch.float32).reshape(1, 80, 90)
    changed = second_ear._hidden(levels) != levels
    assert 0 < changed.sum() < changed.numel()
    whole = changed[0].all(0).sum() + changed[0].all(1).sum()
    assert whole > 0


@pytest.fixture(scope="module")
def corpus(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return noise_corpus(tmp_path_factory.mktemp("dictations"), ("talk",), 3000.0)


def test_a_batch_is_cut_as_an_end_pointer_cuts(corpus: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables, "BROKEN_SHARE", 0.5)
    torch.manual_seed(7)
    spelling: Any = OneTokenAWord()
    material = Material(corpus, Phones(PHONES), corpus / "speech", torch.device("cpu"))
    speech = Speech(material, spelling, 0.0, 0.3)
    broken = ["" in each.words for each in material.rows]
    assert any(broken)
    assert [not each for each in speech._batches.clips.weight.tolist()] == broken
    batch = speech.draw()
    assert batch.sound.shape[1] >= 38400 + 1.5 * RATE
    last = [int(row.nonzero().max()) for row in batch.sound]
    assert all(0.5 * RATE < each < 2.5 * RATE for each in last)  # a second of speech, what is around it, then silence
    assert float(batch.sound.abs().max()) <= 1.0
    assert (batch.told[:, :2] == torch.tensor([BEGIN, MARK])).all()
    assert (batch.wanted[:, 0] == NOTHING).all()
    for told, wanted in zip(batch.told, batch.wanted, strict=True):
        counted = wanted[wanted != NOTHING]
        assert counted[-1] == END
        assert told[2 : 1 + len(counted)].tolist() == counted[:-1].tolist()  # each is given once it was to come


def test_the_command_writes_what_the_ear_adds(
    corpus: Path, weights: dict[str, NDArray[np.float32]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(second_ear_files, "check", lambda folder: None)
    monkeypatch.setattr(second_ear_files, "read_weights", lambda file: weights)
    monkeypatch.setattr(second_ear_files, "Spelling", OneTokenAWord)
    order = ["second-ear", "--corpus", str(corpus), "--phones", str(PHONES), "--speech-data", str(corpus / "speech")]
    more = ["--out", str(tmp_path / "ear.npz"), "--steps", "2", "--share", "0.02", "--weights", str(tmp_path)]
    assert main([*order, *more]) == Exit.DONE
    changed = {name: each.copy() for name, each in weights.items()}
    correct(changed, tmp_path / "ear.npz")
    assert any((changed[name] != weights[name]).any() for name in weights)


def test_without_the_extra_it_says_how_to_get_it(
    corpus: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(second_ear_files, "weights_folder", lambda: None)
    order = ["second-ear", "--corpus", str(corpus), "--phones", str(PHONES), "--speech-data", str(corpus / "speech")]
    assert main([*order, "--out", str(tmp_path / "ear.npz")]) == Exit.BAD_MODEL
    assert "pullcall[second-ear]" in capsys.readouterr().err
