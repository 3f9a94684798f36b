"""The speech to train on: a folder of sets, and manifest.tsv with a line for each recording."""

from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.train.lines import table

COLUMNS = ("path", "speaker", "text", "licence", "seconds")
"""Of a manifest that is begun; one that is there keeps its own."""


class NewSet:
    """A set on its way into a folder of speech; its lines are written by `done`."""

    def __init__(self, folder: Path, name: str) -> None:
        """Raises Refusal (USAGE), before anything is written: the set is there already; a broken line."""
        self._folder, self._name, self._manifest = folder, name, folder / "manifest.tsv"
        self._columns: tuple[str, ...] = COLUMNS
        self._lines = list[str]()
        rows = list(table(self._manifest, "path")) if self._manifest.is_file() else []
        if (folder / name).exists() or any(row["path"].startswith(f"{name}/") for _, row in rows):
            raise Refusal(Exit.USAGE, f"{folder / name}: there already; begin with a fresh copy")
        if self._manifest.is_file():
            self._columns = tuple(self._manifest.read_text(encoding="utf-8").split("\n", 1)[0].split("\t"))
        else:
            self._lines.append("\t".join(COLUMNS))
        (folder / name).mkdir(parents=True)
        self.size = 0
        """Recordings added."""

    def add(self, samples: NDArray[np.int16], speaker: str, text: str, licence: str) -> None:
        """Write one recording, 16 kHz mono, as Opus."""
        name, seconds = f"{self._name}/{self.size:05d}.ogg", f"{len(samples) / RATE:.2f}"
        soundfile.write(self._folder / name, samples, RATE, format="OGG", subtype="OPUS", compression_level=0.9)
        row = dict(zip(COLUMNS, (name, speaker, text, licence, seconds), strict=True))
        self._lines.append("\t".join(row.get(each, "") for each in self._columns))
        self.size += 1

    def done(self) -> int:
        """Write the lines; how many recordings they are."""
        with self._manifest.open("a", encoding="utf-8") as out:
            out.writelines(f"{each}\n" for each in self._lines)
        return self.size
