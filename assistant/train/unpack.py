"""am/final.mdl of a model that this package packed -> the network: what `pack` folded away stays folded.

Good to score with, as the aligner does. Batch norms hold nothing any more, so training cannot go on from it.
"""

from pathlib import Path

import torch
from torch import Tensor, nn

from assistant.speech.layout import EPSILON
from assistant.train.kaldi import FormatError, Reader
from assistant.train.network import Network, Size
from assistant.train.pack import OUTPUT

_COMPONENT, _WEIGHTS = b"<ComponentName> ", b"<LinearParams> "
_WITH_WEIGHTS = ("<AffineComponent>", "<TdnnComponent>")


def read_network(file: Path) -> Network:
    """The network, ready to score; of several that are averaged the first. Raises FormatError for no model of ours."""
    parts = _parts(file.read_bytes())
    try:
        size = Size(
            outputs=len(parts[OUTPUT][0]), inputs=parts["first"][0].shape[1] // 3,
            wide=len(parts["first"][0]), narrow=len(parts["narrow"][0]),
        )  # fmt: skip
        network = Network(size)
        pairs = [(network.first, "first"), (network.last_linear, "narrow"), (network.last, "last")]
        for number, layer in enumerate(network.layers):
            pairs += [(layer.linear, f"layer{number}.linear"), (layer.affine, f"layer{number}.affine")]
        for linear, name in pairs:
            _fill(linear, *parts[name])
        averaged = sum(name.endswith(OUTPUT) for name in parts)
        _fill(network.output, *(averaged * each for each in parts[OUTPUT]))
    except (KeyError, RuntimeError) as error:
        raise FormatError(f"{file}: not the network of this package: {error}") from error
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
