"""The mean of the weights of two packed models: between what a network was and what more training made of it.

Weights that one training started from and those it came to can be averaged (Izmailov et al. 2018; Wortsman et al.
2022; from memory): their packed channels are in one order and of one spread.
"""

from collections.abc import Sequence
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.train.kaldi import FormatError
from assistant.train.network import Network
from assistant.train.pack import Weights
from assistant.train.unpack import read_networks


def mean(files: Sequence[Path]) -> list[Weights]:
    """Each network of the first final.mdl, averaged with those at its place in the others; `pack` writes them.

    Raises Refusal naming the file: (BAD_MODEL) no model of ours, (USAGE) other networks than the first has.
    """
    found = [_read(each) for each in files]
    for file, networks in zip(files, found, strict=True):
        if [each.size for each in networks] != [each.size for each in found[0]]:
            raise Refusal(Exit.USAGE, f"{file}: other networks than {files[0]}; average a model with what it became")
    return [_mean(same) for same in zip(*found, strict=True)]


def _read(file: Path) -> list[Network]:
    try:
        return read_networks(file)
    except (OSError, FormatError) as error:
        raise Refusal(Exit.BAD_MODEL, f"{file}: no model of ours ({error}); name the am/final.mdl of one") from None


def _mean(networks: Sequence[Network]) -> Weights:
    states = [{name: each.numpy() for name, each in network.state_dict().items()} for network in networks]
    return {name: sum(each[name] for each in states) / len(states) for name in states[0]}
