"""One contract for every adapter of the Voice port."""

import wave
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.exits import Exit, Refusal
from assistant.ports import Voice
from assistant.speech.voice import EspeakVoice, SilentVoice


@pytest.fixture(params=[EspeakVoice, SilentVoice], ids=lambda adapter: adapter.__name__)
def adapter(request: pytest.FixtureRequest) -> type[EspeakVoice] | type[SilentVoice]:
    return request.param


@pytest.fixture
def voice(adapter: type[EspeakVoice] | type[SilentVoice], tmp_path: Path) -> Iterator[Voice]:
    voice = adapter(tmp_path / "cache" / "voice")
    yield voice
    voice.close()


@pytest.mark.parametrize("text", ["Pull three.", "", "...", 'ø "quoted"\nnext line', "-x --help"])
@pytest.mark.parametrize("helper", [False, True])
def test_every_text_gives_a_readable_wav_of_16_bit_mono(voice: Voice, text: str, helper: bool) -> None:
    with wave.open(str(voice.speak(text, helper=helper)), "rb") as sound:
        assert (sound.getnchannels(), sound.getsampwidth()) == (1, 2)
        assert sound.getframerate() in (16_000, 22_050)
        assert sound.getnframes() > 0


def test_the_same_text_gives_the_same_file(voice: Voice) -> None:
    assert voice.speak("Hooked.") == voice.speak("Hooked.")


def test_a_closed_voice_may_be_closed_again_and_asked_again(voice: Voice) -> None:
    voice.speak("Hooked.")
    voice.close()
    voice.close()
    assert voice.speak("Turn to the left wall.").stat().st_size > 44


def test_nothing_but_finished_files_is_left_in_the_folder(voice: Voice) -> None:
    file = voice.speak("Hooked.")
    assert list(file.parent.iterdir()) == [file]


def test_a_folder_that_cannot_be_made_is_refused_in_one_line(
    adapter: type[EspeakVoice] | type[SilentVoice], tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("in the way")
    voice = adapter(tmp_path / "file" / "voice")
    with pytest.raises(Refusal) as refused:
        voice.speak("Hooked.")
    voice.close()
    assert refused.value.code is Exit.NOT_WRITABLE
    assert str(tmp_path / "file" / "voice") in refused.value.line
    assert "\n" not in refused.value.line
