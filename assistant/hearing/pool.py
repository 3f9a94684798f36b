"""Work shared out over the cores: in this process where one will do, else in spawned ones."""

import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import Any, TypeVar

Task = TypeVar("Task")
Done = TypeVar("Done")


def spread(
    work: Callable[[Task], Done], tasks: Sequence[Task], begin: Callable[..., None], given: tuple[Any, ...], cores: int
) -> Iterator[Done]:
    """What `work` makes of each task, in their order; `begin(*given)` goes first in every process. `cores` 0 = all."""
    cores = min(cores or os.cpu_count() or 1, len(tasks))
    if cores <= 1:
        begin(*given)
        yield from map(work, tasks)
        return
    # Spawned, not forked: the recogniser's library does not survive a fork.
    with ProcessPoolExecutor(cores, multiprocessing.get_context("spawn"), begin, given) as pool:
        yield from pool.map(work, tasks)
