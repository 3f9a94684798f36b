"""Takes of single words, put into the speech to train on or kept apart. Each take is a tone of a pitch of its own."""

from pathlib import Path
from zlib import crc32

import numpy as np
import pytest
import soundfile

from assistant.exits import Exit
from assistant.train import single_words
from assistant.train.__main__ import main
from assistant.train.lines import table

SPEAKERS = [f"{number:08x}" for number in range(40)]
WORDS = ("one", "yes")
HEADER = "path\tspeaker\ttext\tlicence\tseconds\n"
FIRST = "an4/a.ogg\tan4-a\tg two\tAN4\t1.60\n"


def hertz(word: str, speaker: str) -> int:
    return 300 + 20 * (SPEAKERS.index(speaker) + 40 * WORDS.index(word))


@pytest.fixture
def folders(tmp_path: Path) -> tuple[Path, Path, Path]:
    """Of the takes, the speech to train on, and what is kept."""
    takes, speech = tmp_path / "takes", tmp_path / "speech"
    for word in WORDS:
        (takes / word).mkdir(parents=True)
        for speaker in SPEAKERS:
            tone = 0.3 * np.sin(2 * np.pi * hertz(word, speaker) * np.arange(8000) / 16000)
            soundfile.write(takes / word / f"{speaker}_nohash_0.wav", tone, 16000, subtype="PCM_16")
    speech.mkdir()
    (speech / "manifest.tsv").write_text(HEADER + FIRST, encoding="utf-8")
    return takes, speech, tmp_path / "kept"


def split(folders: tuple[Path, Path, Path]) -> int:
    takes, speech, kept = map(str, folders)
    return main(["split-words", "--folder", takes, "--speech-data", speech, "--kept", kept])


def pitch(file: Path) -> float:
    """Hertz of the strongest of a recording's tones."""
    samples, rate = soundfile.read(file)
    assert rate == 16000
    return float(np.abs(np.fft.rfft(samples * np.hanning(len(samples)))).argmax()) * rate / len(samples)


def test_every_take_is_on_one_side_and_its_speaker_with_it(
    folders: tuple[Path, Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Who is kept by zlib's crc32 (RFC 1952): divisible by four."""
    takes, speech, kept = folders
    assert split(folders) == 0
    apart = {each for each in SPEAKERS if crc32(each.encode()) % 4 == 0}
    assert 4 <= len(apart) <= 16, "about ten of forty"
    files = {file.relative_to(kept): file.read_bytes() for file in kept.rglob("*.wav")}
    assert files == {
        Path(word, f"{who}_nohash_0.wav"): (takes / word / f"{who}_nohash_0.wav").read_bytes()
        for word in WORDS
        for who in apart
    }
    assert (speech / "manifest.tsv").read_text(encoding="utf-8").startswith(HEADER + FIRST)
    rows = [row for _, row in table(speech / "manifest.tsv", "path")][1:]
    assert capsys.readouterr().out == f"{len(rows)} takes to train on\n"
    said = {(row["text"], row["speaker"]) for row in rows}
    assert said == {(word, f"sc-{who}") for word in WORDS for who in SPEAKERS if who not in apart}
    assert len(said) == len(rows)
    for row in rows:
        assert pitch(speech / row["path"]) == pytest.approx(hertz(row["text"], row["speaker"][3:]), abs=5)
        assert (row["licence"], row["seconds"]) == ("CC BY 4.0", "0.50")


def test_no_word_has_more_than_the_most_takes(
    folders: tuple[Path, Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(single_words, "MOST", 5)
    assert split(folders) == 0
    texts = [row["text"] for _, row in table(folders[1] / "manifest.tsv", "path")][1:]
    assert sorted(texts) == ["one"] * 5 + ["yes"] * 5


@pytest.mark.parametrize("what", ["takes", "manifest", "twice", "folder"])
def test_what_is_missing_or_there_already_is_refused_before_anything_is_written(
    what: str, folders: tuple[Path, Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    _, speech, kept = folders
    if what == "takes":
        folders, told = (speech, speech, kept), f"{speech}: no take WORD/SPEAKER_nohash_0.wav; name the folder"
    elif what == "manifest":
        (speech / "manifest.tsv").unlink()
        told = f"{speech / 'manifest.tsv'}: not there; name a copy of the speech to train on"
    elif what == "folder":
        (speech / "speech_commands").mkdir()
        told = f"{speech / 'speech_commands'}: there already; begin with a fresh copy"
    else:
        row = "speech_commands/00000.ogg\tsc-a\tone\tCC BY 4.0\t0.50\n"
        (speech / "manifest.tsv").write_text(HEADER + row, encoding="utf-8")
        told = f"{speech / 'speech_commands'}: there already; begin with a fresh copy"
    before = sorted(speech.rglob("*"))
    assert split(folders) == Exit.USAGE
    assert told in capsys.readouterr().err
    assert sorted(speech.rglob("*")) == before and not kept.exists()
