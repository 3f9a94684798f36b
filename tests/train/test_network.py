"""The network's shapes, its size, what it sees, and how it is trained and averaged. Needs torch (extra train)."""

import math

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="needs the extra train (torch)")

from assistant.train.clips import Batch  # noqa: E402
from assistant.train.loop import Schedule, refresh, train  # noqa: E402
from assistant.train.network import Network, Size, padded  # noqa: E402
from tests.train.by_hand import forward, random_weights  # noqa: E402

SMALL = Size(outputs=6, inputs=5, wide=8, narrow=3)
REACH = 34
"""Frames seen on each side, added up by hand: one by the first layer, 1 + 1 + 1 + 0 + 10 times 3 by the others."""


def small() -> Network:
    torch.manual_seed(7)
    network = Network(SMALL)
    network.load_state_dict({name: torch.tensor(each) for name, each in random_weights(SMALL, 7).items()}, strict=False)
    return network.eval()


@pytest.mark.parametrize(("frames", "scores"), [(1, 1), (3, 1), (4, 2), (30, 10), (31, 11)])
def test_a_score_for_every_third_frame(frames: int, scores: int) -> None:
    made = padded(torch.randn(2, frames, 5))
    assert made.shape[0] == 2 * REACH + frames + -frames % 3
    assert tuple(small()(made).shape) == (scores, 2, 6)


def test_padding_repeats_the_edges() -> None:
    sound = torch.arange(4.0)[None, :, None].expand(1, 4, 5)
    told = padded(sound)[:, 0, 0].tolist()
    assert told == [0.0] * REACH + [0.0, 1.0, 2.0, 3.0] + [3.0] * (REACH + 2)


def test_parameters_are_as_many_as_the_layers_say() -> None:
    """By hand for 768 and 64: first 120 * 768 + 768; a layer with taps 2 * 768 * 64 + 2 * 64 * 768 + 768, thirteen of
    them; the one without 768 * 64 + 64 * 768 + 768; then 768 * 64, 64 * 768 + 768 and 768 * 80 + 80.
    """
    wanted = 92_928 + 13 * 197_376 + 99_072 + 49_152 + 49_920 + 61_520
    assert sum(each.numel() for each in Network().parameters()) == wanted == 2_918_480


def test_what_a_score_sees_and_what_it_does_not() -> None:
    """Score k hangs on frames 3 k - 34 to 3 k + 34: a change inside changes it, a change outside nothing.

    One clip as it is, and one for every frame with that frame changed. The farthest frame is seen by one way through
    the layers only, and rectifiers must let it pass, so several draws are made.
    """
    network, seen = small().double(), set[int]()
    frames = 2 * REACH + 12
    for _ in range(6):
        heard = torch.randn(frames, 1, 5, dtype=torch.float64).repeat(1, frames + 1, 1)
        heard[torch.arange(frames), torch.arange(frames)] += 5.0
        with torch.no_grad():
            found = network(heard)[2]
        seen |= {frame for frame in range(frames) if (found[frame] - found[-1]).abs().max() > 1e-12}
    assert seen == set(range(6, 6 + 2 * REACH + 1)), "the input begins at frame -34"


def test_clips_of_a_batch_do_not_hear_each_other() -> None:
    network, heard = small(), torch.randn(2 * REACH + 9, 3, 5)
    alone = network(heard[:, 1:2])
    assert torch.allclose(network(heard)[:, 1:2], alone, atol=1e-6)


def test_the_scores_are_the_layers_formula_frame_by_frame() -> None:
    """Against loops in numpy over frames and taps (tests/train/by_hand.py)."""
    weights = random_weights(SMALL, 3)
    network = Network(SMALL).eval()
    network.load_state_dict({name: torch.tensor(each) for name, each in weights.items()}, strict=False)
    heard = np.random.default_rng(1).normal(0, 2, (2 * REACH + 7, 5))
    with torch.no_grad():
        found = network.double()(torch.tensor(heard)[:, None])[:, 0].numpy()
    for place in range(len(found)):
        assert np.abs(found[place] - forward(weights, heard, 3 * place + REACH)).max() < 1e-5


def test_the_input_is_brought_to_mean_0_and_spread_1() -> None:
    network = Network(SMALL)
    cepstra = torch.randn(50, 4, 5) * torch.tensor([1.0, 2, 3, 4, 5]) + torch.tensor([5.0, 4, 3, 2, 1])
    network.adapt(cepstra)
    flat = ((cepstra - network.mean) * network.scale).reshape(-1, 5)
    assert torch.allclose(flat.mean(0), torch.zeros(5), atol=1e-5)
    assert torch.allclose(flat.std(0), torch.ones(5), atol=1e-5)


class Same:
    """Draws the same batch for ever."""

    def __init__(self) -> None:
        torch.manual_seed(5)
        self.batch = Batch(padded(torch.randn(6, 9, 5)), 3, *[torch.zeros(1)] * 4)

    def draw(self) -> Batch:
        return self.batch


def test_statistics_are_those_of_the_weights_as_they_are() -> None:
    """One batch again and again: mean and spread of what goes into the first norm, computed here."""
    network, source = small(), Same()
    refresh(network, source, rounds=3)
    x = (source.batch.cepstra - network.mean) * network.scale
    y = torch.relu(network.first(torch.cat([x[:-2], x[1:-1], x[2:]], -1))).reshape(-1, 8).detach()
    assert torch.allclose(network.first_norm.running_mean, y.mean(0), rtol=0.02, atol=0.02)
    assert torch.allclose(network.first_norm.running_var, y.var(0), rtol=0.05, atol=0.02)
    assert not network.training


def pull(goal: float):
    """A loss whose gradient pulls one bias towards `goal`; no other weight matters."""

    def objective(network: Network, batch: Batch):
        miss = (network.output.bias[0] - goal).abs() + 0.0 * sum(each.sum() for each in network.parameters())
        return miss, {"miss": miss.detach()}

    return objective


def rates(steps: int, rate: float, warm_up: int) -> list[float]:
    """The schedule in the documentation: up for `warm_up` steps, times half a cosine from 1 down to 2 %."""
    return [
        rate * min(1.0, (k + 1) / warm_up) * (0.02 + 0.98 * (1 + math.cos(math.pi * k / steps)) / 2)
        for k in range(steps)
    ]


def test_the_network_ends_with_its_averaged_weights() -> None:
    """Under a gradient of one sign Adam moves by the rate itself each step (no decay): walk and average by hand."""
    network = small()
    begin = float(network.output.bias[0].detach())
    steps = train(network, Same(), pull(begin + 100), Schedule(0.0, 0.01, warm_up=4, decay=0.0, steps=12))
    assert steps == 12
    place, average = begin, begin
    for step, rate in enumerate(rates(12, 0.01, 4)):
        place += rate
        share = min(0.998, step / (step + 20))
        average = share * average + (1 - share) * place
    assert float(network.output.bias[0].detach()) == pytest.approx(average, abs=1e-5)


def test_snapshots_hold_the_average_and_leave_the_training_as_it_was() -> None:
    kept: list[tuple[int, float]] = []
    plain, watched = small(), small()
    schedule = Schedule(0.0, 0.01, warm_up=4, decay=0.0, steps=12)
    train(plain, Same(), pull(100.0), schedule)
    with_snapshots = Schedule(0.0, 0.01, warm_up=4, decay=0.0, steps=12, snapshot=5)
    train(
        watched,
        Same(),
        pull(100.0),
        with_snapshots,
        lambda step, now: kept.append((step, float(now.output.bias[0].detach()))),
    )
    assert [step for step, _ in kept] == [5, 10]
    assert float(small().output.bias[0].detach()) < kept[0][1] < kept[1][1] < float(watched.output.bias[0].detach())
    assert torch.equal(watched.output.bias, plain.output.bias)


def test_a_gradient_that_is_none_changes_nothing() -> None:
    """One step in which the loss is infinite by a division by 0: the weights stay."""
    network, other = small(), small()

    def broken(now: Network, batch: Batch):
        loss = sum((each * math.inf).sum() for each in now.parameters())
        return loss, {}

    train(network, Same(), broken, Schedule(0.0, 0.01, decay=0.0, steps=1))
    assert all(torch.equal(one, two) for one, two in zip(network.parameters(), other.parameters(), strict=True))
