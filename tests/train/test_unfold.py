"""The networks that ship, made ready to be trained on: they score as before, and at once. Needs torch (extra train)."""

import numpy as np
import pytest

from assistant.shelf import model_folder, recordings_folder
from assistant.speech.audio import read_audio

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train.augment import Bank, Levels, augmented  # noqa: E402
from assistant.train.features import Cepstra  # noqa: E402
from assistant.train.network import Network, padded  # noqa: E402
from assistant.train.unfold import DEAD, unfold  # noqa: E402
from assistant.train.unpack import read_networks  # noqa: E402

SAMPLES = 40000
QUIETEST = 1e-2


@pytest.fixture(scope="module")
def heard() -> list[torch.Tensor]:
    """Demo recordings on site, as in training: two batches of cepstra."""
    files = sorted((recordings_folder() / "demo").glob("*.ogg"))[:24]
    sounds = [np.frombuffer(read_audio(each), "<i2")[:SAMPLES].astype(np.float32) for each in files]
    rows = torch.from_numpy(np.stack([np.pad(each, (0, SAMPLES - len(each))) for each in sounds]))
    torch.manual_seed(1)
    bank = Bank(rows.device, [], rows=8, room_count=24)
    cepstra = Cepstra()(augmented(rows, rows.square().mean(1, keepdim=True).sqrt(), bank, Levels()))
    return [padded(cepstra[:12]), padded(cepstra[12:])]


def scores(network: Network, heard: list[torch.Tensor]) -> torch.Tensor:
    with torch.no_grad():
        return torch.cat([network(each) for each in heard], 1)


@pytest.mark.parametrize("number", [0, 1])
def test_the_scores_stay_what_they_are(heard: list[torch.Tensor], number: int) -> None:
    network = read_networks(model_folder() / "am" / "final.mdl")[number]
    before = scores(network, heard)
    unfold(network, heard)
    assert torch.allclose(scores(network, heard), before, atol=1e-3)
    assert float(network.first_norm.running_mean.abs().mean()) > 0.1, "a batch norm of its own"


def test_a_channel_that_hardly_speaks_is_not_made_loud(heard: list[torch.Tensor]) -> None:
    """In training a norm divides by the spread that it measures, however small."""
    network = read_networks(model_folder() / "am" / "final.mdl")[0]
    spreads: list[torch.Tensor] = []
    network.first_norm.register_forward_hook(lambda _, __, made: spreads.append(made.std(0)))
    scores(network, heard[:1])
    unfold(network, heard[:1])
    network.train()
    scores(network, heard[:1])
    before, after = spreads[0], spreads[-1]
    quiet = (before > QUIETEST) & (before < DEAD**0.5 / 2)
    assert quiet.any()
    assert float((after[quiet] / before[quiet]).max()) < 1.5
