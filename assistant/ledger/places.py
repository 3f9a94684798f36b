"""The job files of a folder and the folders below it."""

import os
from pathlib import Path

from assistant.exits import Exit, Refusal
from assistant.record.review import SUFFIX

KEPT = ".pullcall-review.parquet"
"""What a review keeps in the folder for the next one."""

Place = tuple[str, str]
"""Path of a job file, and what it is called in the table."""


def job_files(folder: Path) -> list[Place]:
    """Every job file below `folder`; folders that are links are not entered, so nothing outside is read.

    Raises Refusal: BAD_JOB for a folder that is missing or without jobs.
    """
    if not folder.is_dir():
        raise Refusal(Exit.BAD_JOB, f"{folder}: no such folder; give the folder the job files are in")
    found = [
        (os.path.join(base, name), _shown(os.path.relpath(os.path.join(base, name), folder)))  # noqa: PTH118
        for base, _, names in os.walk(folder)
        for name in names
        if name.endswith(SUFFIX)
    ]
    if not found:
        raise Refusal(Exit.BAD_JOB, f"{folder}: no job file in this folder or below it; they end in {SUFFIX}")
    return sorted(found)


def _shown(name: str) -> str:
    """A name as text, whatever bytes it is made of."""
    return os.fsencode(name).decode("utf-8", "backslashreplace").replace(os.sep, "/")
