"""Where the phones of each clip are: PocketSphinx's forced alignment with its own US English model.

Only times are taken from it; its model teaches nothing else. The lattice search is off: slow here, of no use.
"""

import json
import re
import sys
import tempfile
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.ports import RATE
from assistant.speech.grammars import lexicon
from assistant.train.corpus import Alignment, Clip, check_words, read_audio, read_clips
from assistant.train.lines import json_lines
from assistant.train.sentences import Pronunciations

FRAME = 160
"""Samples."""
PADDING = 10
"""Frames of near silence put before and after each clip."""
LONGEST_PHONE = 0.7
"""Seconds; a longer phone means that text and sound do not belong together."""
WIDE, NARROW = 1e-60, 1e-40
"""Beams of the search."""


def dictionary() -> dict[str, tuple[tuple[str, ...], ...]]:
    """Pronunciations: the grammars' lexicon first, then the CMU dictionary that comes with PocketSphinx."""
    import pocketsphinx

    table: dict[str, tuple[tuple[str, ...], ...]] = {}
    file = Path(pocketsphinx.get_model_path("en-us"), "cmudict-en-us.dict")
    for line in file.read_text(encoding="utf-8").splitlines():
        word, *phones = line.split()
        word = re.sub(r"\(\d+\)$", "", word)
        table[word] = (*table.get(word, ()), tuple(phones))
    return table | lexicon()


class Aligner:
    """PocketSphinx, ready for the words given."""

    def __init__(self, words: Iterable[str], table: Pronunciations) -> None:
        from pocketsphinx import Decoder, get_model_path

        with tempfile.NamedTemporaryFile("w", suffix=".dict", encoding="utf-8") as file:
            for word in sorted(set(words)):
                for number, phones in enumerate(table[word], 1):
                    print(word if number == 1 else f"{word}({number})", *phones, file=file)
            file.flush()
            self._decoder: Any = Decoder(
                hmm=get_model_path("en-us/en-us"), dict=file.name, lm=None, samprate=RATE, loglevel="FATAL",
                beam=WIDE, wbeam=NARROW, pbeam=WIDE, bestpath=False,
            )  # fmt: skip
        self._dither = np.random.default_rng(0)

    def align(self, number: int, words: tuple[str, ...], samples: NDArray[np.int16]) -> Alignment | None:
        """The alignment of clip `number`, or None where the text does not fit."""
        quiet = np.zeros(PADDING * FRAME, np.int16)
        padded = np.concatenate([quiet, samples, quiet])
        padded = padded + self._dither.integers(-3, 4, len(padded), dtype=np.int16)
        try:
            self._decoder.set_align_text(" ".join(words))
            self._pass(padded)
            self._decoder.set_alignment()
            self._pass(padded)
            found = [[(p.name, p.start, p.duration) for p in word] for word in self._decoder.get_alignment()]
        except RuntimeError:
            return None
        spoken = [word for word in found if word[0][0] not in ("SIL", "+SPN+", "+NSN+")]
        if len(spoken) != len(words) or any(size * 0.01 > LONGEST_PHONE for word in spoken for _, _, size in word):
            return None
        begins = tuple(tuple((name, _second(start)) for name, start, _ in word) for word in spoken)
        return Alignment(number, begins, tuple(_second(word[-1][1] + word[-1][2]) for word in spoken))

    def _pass(self, samples: NDArray[np.int16]) -> None:
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), full_utt=True)
        self._decoder.end_utt()


def _second(frame: int) -> float:
    return max(0.0, round((frame - PADDING) * 0.01, 2))


def align_corpus(folder: Path) -> int:
    """Write alignment.jsonl for a corpus folder, going on where it stopped; returns how many clips did not fit.

    Raises Refusal (USAGE) naming a word without pronunciation.
    """
    table = dictionary()
    check_words(folder, table)
    clips, audio, out = read_clips(folder), read_audio(folder), folder / "alignment.jsonl"
    done = {each.clip for each in read_alignments(folder)}
    aligner = Aligner((word for clip in clips for word in clip.words), table)
    failed = 0
    with out.open("a", encoding="utf-8") as lines:
        for number, clip in enumerate(clips):
            if number not in done:
                found = aligner.align(number, clip.words, _samples(audio, clip))
                failed += found is None
                if found is not None:
                    print(json.dumps(asdict(found)), file=lines, flush=True)
            if number % 1000 == 999:
                print(f"{number + 1} of {len(clips)} aligned", file=sys.stderr)
    return failed


def _samples(audio: NDArray[np.int16], clip: Clip) -> NDArray[np.int16]:
    return np.asarray(audio[clip.start : clip.start + clip.size])


def read_alignments(folder: Path) -> list[Alignment]:
    """All alignments of a corpus folder; none where it was not aligned yet.

    Raises Refusal (USAGE) naming file and line of a broken one.
    """
    file = folder / "alignment.jsonl"
    return json_lines(file, _alignment) if file.is_file() else []


def _alignment(row: Any) -> Alignment:
    return Alignment(row["clip"], tuple(tuple((p, t) for p, t in word) for word in row["words"]), tuple(row["ends"]))
