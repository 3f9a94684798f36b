"""One contract for every adapter of the Ears port."""

from collections.abc import Callable, Mapping, Sequence

import pytest

from assistant.core.meaning import Meaning
from assistant.ports import Ears, Heard, Listener
from assistant.shelf import recordings_folder
from assistant.speech.audio import read_audio
from assistant.speech.ears import VoskEars
from assistant.speech.jsgf import GrammarError
from assistant.speech.text_ears import TextEars
from assistant.speech.trust import Trust
from assistant.speech.two_ears import NAMES

SILENCE = bytes(32_000)


@pytest.fixture(scope="module")
def vosk_ears() -> VoskEars:
    return VoskEars()


class Yes:
    """A second ear that hears 'yes' in everything."""

    name, weights_sum = "yes", ""

    def prepare(self, sound: bytes, patience_s: float) -> None:
        pass

    def hear(self, sound: bytes, ask: str, texts: Sequence[str], patience_s: float) -> Mapping[str, float]:
        return {"yes": -1.0} if ask == "confirm" else {}


EAGER = Trust(dict.fromkeys(NAMES, 0.0), 9.0, 0.6, 0.3, "")
"""Takes all that both choose."""


@pytest.fixture(params=["vosk", "text", "two"])
def ears(request: pytest.FixtureRequest, vosk_ears: VoskEars, monkeypatch: pytest.MonkeyPatch) -> Ears:
    if request.param == "two":
        monkeypatch.setattr("assistant.speech.two_ears.SURE", 1.1)  # asked every time
        return VoskEars(second=Yes, trust_in_both=EAGER)
    return vosk_ears if request.param == "vosk" else TextEars()


@pytest.fixture
def yes(ears: Ears) -> bytes:
    """What the adapter takes for a spoken 'yes' and its end."""
    if isinstance(ears, TextEars):
        return b"yes\n"
    return SILENCE + read_audio(_recording("yes")) + SILENCE


def _recording(text: str):  # type: ignore[no-untyped-def]
    folder = recordings_folder() / "demo"
    rows = (folder / "playlist.tsv").read_text(encoding="utf-8").splitlines()
    return folder / next(row.split("\t")[0] for row in rows if row.split("\t")[1] == text)


def play(listener: Listener, content: bytes, length: int) -> Heard | None:
    for at in range(0, len(content), length):
        heard = listener.feed(content[at : at + length])
        if heard is not None:
            return heard
    return listener.finish()


@pytest.mark.parametrize("length", [333, 1024, 10_000_000])
def test_a_sentence_is_heard_once_in_blocks_of_any_length(ears: Ears, yes: bytes, length: int) -> None:
    listener = ears.listen("confirm")
    heard = play(listener, yes, length)
    assert heard is not None
    assert heard.text == "yes"
    assert heard.meaning == Meaning(act="yes")
    assert 0.0 < heard.score <= 1.0
    assert 0.0 <= heard.start_s <= heard.end_s
    assert listener.feed(yes) is None
    assert listener.finish() is None


def test_whoever_is_in_mid_sentence_is_speaking(ears: Ears, yes: bytes) -> None:
    listener, told = ears.listen("confirm"), []
    assert not listener.speaking
    for at in range(0, len(yes), 1024 if len(yes) > 1024 else 1):
        if listener.feed(yes[at : at + (1024 if len(yes) > 1024 else 1)]) is not None:
            break
        told.append(listener.speaking)
    assert any(told)
    assert not listener.speaking, "it was heard"


def test_a_sentence_of_another_ask_has_no_meaning(ears: Ears, yes: bytes) -> None:
    heard = play(ears.listen("job"), yes, 1024)
    assert heard is None or heard.meaning is None


@pytest.mark.parametrize("end", [lambda listener: None, lambda listener: listener.feed(b"")])
def test_nobody_spoke(ears: Ears, end: Callable[[Listener], object]) -> None:
    listener = ears.listen("pull")
    end(listener)
    assert listener.finish() is None
    assert listener.finish() is None


def test_a_stream_that_ends_in_the_middle_gives_what_was_heard(ears: Ears, yes: bytes) -> None:
    content = yes.removesuffix(SILENCE).removesuffix(b"\n")
    heard = play(ears.listen("confirm"), content, 1024)
    assert heard is not None
    assert heard.text == "yes"


def test_listeners_do_not_hear_each_other(ears: Ears, yes: bytes) -> None:
    first, second = ears.listen("confirm"), ears.listen("confirm")
    assert play(first, yes, 1024) is not None
    assert second.finish() is None


def test_an_unknown_ask_is_refused_by_name(ears: Ears) -> None:
    with pytest.raises(GrammarError, match="nonsense"):
        ears.listen("nonsense")


def test_it_has_a_name_for_the_log(ears: VoskEars | TextEars) -> None:
    assert ears.name
