"""The model that ships, read back and set to align a sentence. Needs torch (extra train)."""

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.shelf import model_folder, recordings_folder
from assistant.speech.grammars import lexicon

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train.corpus import CorpusWriter, read_audio, read_clips  # noqa: E402
from assistant.train.kaldi import FormatError, read_transitions  # noqa: E402
from assistant.train.lexicon import Phones  # noqa: E402
from assistant.train.network import Network, Size, padded  # noqa: E402
from assistant.train.pack import write_model  # noqa: E402
from assistant.train.realign import NetworkAligner, realign  # noqa: E402
from assistant.train.unpack import read_network  # noqa: E402

MODEL = model_folder() / "am" / "final.mdl"


@pytest.mark.parametrize("beside", [0, 1])
def test_what_was_packed_scores_the_same_when_it_is_read_back(tmp_path: Path, beside: int) -> None:
    """The first of several networks."""
    torch.manual_seed(3)
    network = Network(Size(outputs=82, wide=48, narrow=8))
    network.train()
    network.adapt(torch.randn(50, 4, 40) * 3 + 1)
    for _ in range(20):
        network(padded(torch.randn(4, 60, 40) * 3 + 1))
    network.eval()
    weights = {name: each.numpy().astype(np.float64) for name, each in network.state_dict().items() if each.ndim}
    write_model([weights, *[weights] * beside], read_transitions(MODEL), tmp_path / "final.mdl")
    heard = padded(torch.randn(2, 90, 40) * 3 + 1)
    with torch.no_grad():
        one, other = network(heard), read_network(tmp_path / "final.mdl")(heard)
    assert torch.allclose(one, other, atol=0.02 * float(one.std()))


def test_a_file_of_another_kind_is_refused(tmp_path: Path) -> None:
    (tmp_path / "final.mdl").write_bytes(b"\0B<TransitionModel> ")
    with pytest.raises(FormatError, match=r"final\.mdl: not the network of this package"):
        read_network(tmp_path / "final.mdl")


def test_a_corpus_is_aligned(tmp_path: Path) -> None:
    """Phones stand in the order of the lexicon, inside the recording, and no word before the one before it ended."""
    manifest = (recordings_folder() / "evaluation" / "manifest.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in manifest[1:] if line.startswith("task_") and "af_heart" in line][:6]
    writer = CorpusWriter(tmp_path)
    for file, _, text, *_ in rows:
        sound, _ = soundfile.read(recordings_folder() / "evaluation" / file, dtype="int16")
        writer.add(sound, "synthetic", "af_heart", "task", text.split())
    names = ["SIL", *Phones(model_folder() / "graph" / "phones.txt").plain]
    clips, out = read_clips(tmp_path), tmp_path / "alignment.jsonl"
    left_out = realign(clips, read_audio(tmp_path), NetworkAligner(read_network(MODEL), names), lexicon(), out)
    found = [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()]
    assert len(found) + left_out == 6 and len(found) >= 4
    for each in found:
        clip = clips[each["clip"]]
        last = 0.0
        for word, phones, end in zip(clip.words, each["words"], each["ends"], strict=True):
            assert tuple(name for name, _ in phones) in lexicon()[word]
            begins = [at for _, at in phones]
            assert last <= begins[0] and begins == sorted(begins) and begins[-1] < end <= clip.size / 16000
            last = end
