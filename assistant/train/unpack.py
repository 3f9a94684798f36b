"""am/final.mdl of a model that this package packed -> its networks: what `pack` folded away stays folded.

Good to score with, as the aligner does; for training to go on from one, `unfold` makes its batch norms anew.
"""

from pathlib import Path

import torch
from torch import Tensor, nn

from assistant.speech.layout import EPSILON
from assistant.train.kaldi import FormatError, Reader
from assistant.train.network import Network, Size
from assistant.train.pack import OUTPUT, mark

_COMPONENT, _WEIGHTS = b"<ComponentName> ", b"<LinearParams> "
_WITH_WEIGHTS = ("<AffineComponent>", "<TdnnComponent>")


def read_networks(file: Path) -> list[Network]:
    """The networks whose scores are averaged, ready to score. Raises FormatError for no model of ours."""
    try:
        parts = _parts(file.read_bytes())
        count = sum(name.endswith(OUTPUT) for name in parts)
        return [_network(parts, mark(number), count) for number in range(max(1, count))]
    except (KeyError, RuntimeError) as error:
        raise FormatError(f"{file}: not the network of this package: {error}") from error


def read_network(file: Path) -> Network:
    """The first of them. Raises FormatError."""
    return read_networks(file)[0]


def _network(parts: dict[str, tuple[Tensor, Tensor]], name: str, count: int) -> Network:
    """The network whose parts' names begin with `name`, one of `count` that are averaged."""
    size = Size(
        outputs=len(parts[f"{name}{OUTPUT}"][0]), inputs=parts[f"{name}first"][0].shape[1] // 3,
        wide=len(parts[f"{name}first"][0]), narrow=len(parts[f"{name}narrow"][0]),
    )  # fmt: skip
    network = Network(size)
    pairs = [(network.first, "first"), (network.last_linear, "narrow"), (network.last, "last")]
    for number, layer in enumerate(network.layers):
        pairs += [(layer.linear, f"layer{number}.linear"), (layer.affine, f"layer{number}.affine")]
    for linear, part in pairs:
        _fill(linear, *parts[f"{name}{part}"])
    _fill(network.output, *(count * each for each in parts[f"{name}{OUTPUT}"]))
    for part in network.modules():
        if isinstance(part, nn.BatchNorm1d) and part.running_var is not None:
            part.running_var.fill_(1.0 - EPSILON)
    return network.eval()


def _parts(content: bytes) -> dict[str, tuple[Tensor, Tensor]]:
    """Component -> its weights and bias."""
    reader, found, at = Reader(content), dict[str, tuple[Tensor, Tensor]](), 0
    while (at := content.find(_COMPONENT, at)) >= 0:
        reader.at = at + len(_COMPONENT)
        name, kind = reader.token(), reader.token()
        if kind in _WITH_WEIGHTS:
            reader.at = content.index(_WEIGHTS, at) + len(_WEIGHTS)
            weights = torch.from_numpy(reader.matrix())
            reader.expect("<BiasParams>")
            found[name] = (weights, torch.from_numpy(reader.vector()))
        at = reader.at
    return found


def _fill(linear: nn.Linear, weights: Tensor, bias: Tensor) -> None:
    with torch.no_grad():
        linear.weight.copy_(weights)
        if linear.bias is not None:
            linear.bias.copy_(bias)
