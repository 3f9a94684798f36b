"""Sound is kept only where it was asked for, beside the log, and can be removed without touching it."""

import wave
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.core.log_events import CarriedOn, SoundKept
from assistant.exits import Exit, Refusal
from assistant.keeping import AFTER_S, BEFORE_S, LONGEST_S, KeepingEars
from assistant.ports import RATE, Heard
from assistant.record.code import job_code
from assistant.record.codec import decode, encode
from assistant.record.job_file import begin_job, resume_job
from assistant.record.reading import read_job
from assistant.record.sound import SoundKeeper, Sounds, remove_sounds, sound_folder, sounds_of
from assistant.record.verify import verify
from assistant.speech.grammars import grammar
from assistant.speech.understand import understand
from tests.record import scenario
from tests.record.scenario import ScriptedClock

Capture = pytest.CaptureFixture[str]
SENTENCES = ("job seven", "tufted", "no figure")


def heard(text: str, ask: str, sound: bytes = b"") -> Heard:
    return Heard(text, understand(text, grammar(ask)), 1.0, 0.0, 1.0, sound=sound)


def kept_job(path: Path, *, keep: bool = True) -> Path:
    """Three sentences, each with a sound of its own."""
    with closing(begin_job(path, ScriptedClock())) as job:
        keeper = SoundKeeper(lambda: path)
        more = {"keep": keeper} if keep else {}
        conversation = Conversation(job, lambda wording, tone: None, scenario.started(), **more)
        for number, text in enumerate(SENTENCES):
            ask = conversation.ask
            assert ask is not None
            conversation.take(heard(text, ask.grammar, bytes([number, 1]) * RATE))
    return path


def test_each_utterance_lies_beside_its_event(tmp_path: Path) -> None:
    path = kept_job(tmp_path / "a.job")
    events = [decode(row.kind, row.payload) for row in read_job(path).rows]
    for number, event in enumerate(events):
        if isinstance(event, SoundKept):
            assert isinstance(events[number - 1], ev.Said)
            file = sound_folder(path) / f"{event.sha256}.wav"
            assert sha256(file.read_bytes()).hexdigest() == event.sha256
            with wave.open(str(file)) as sound:
                assert (sound.getframerate(), sound.getnchannels(), sound.getsampwidth()) == (RATE, 1, 2)
                assert sound.getnframes() == RATE and event.milliseconds == 1_000
    assert sum(isinstance(each, SoundKept) for each in events) == len(SENTENCES)
    assert len(list(sound_folder(path).iterdir())) == len(SENTENCES)


def test_nothing_is_kept_unasked(tmp_path: Path) -> None:
    path = kept_job(tmp_path / "a.job", keep=False)
    assert [each.name for each in tmp_path.iterdir()] == ["a.job"]
    assert "sound_kept" not in {row.kind for row in read_job(path).rows}


def test_forgetting_leaves_the_log_byte_for_byte(tmp_path: Path, capsys: Capture) -> None:
    path = kept_job(tmp_path / "a.job")
    before, code = path.read_bytes(), job_code(read_job(path).rows)
    assert verify(path, code).sounds == Sounds(kept=3, there=3)
    assert main(["forget", str(path), "--audio"]) == Exit.DONE
    assert "3 recordings removed" in capsys.readouterr().out
    assert path.read_bytes() == before and not sound_folder(path).exists()
    found = verify(path, code)
    assert found.exit is Exit.DONE and found.consistent
    assert "kept for 3 utterances; 0 there as written, 3 removed" in found.as_text()
    assert main(["forget", str(path), "--audio"]) == Exit.DONE
    assert "no recordings there" in capsys.readouterr().out


def test_forget_says_what_is_to_be_forgotten(tmp_path: Path, capsys: Capture) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["forget", str(kept_job(tmp_path / "a.job"))])
    assert stop.value.code == Exit.USAGE
    assert len(list(sound_folder(tmp_path / "a.job").iterdir())) == 3


def test_forget_needs_a_job(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "a.job").write_text("not a job\n" * 900)
    for name, told in (("none.job", "no such file"), ("a.job", "not a job file")):
        assert main(["forget", str(tmp_path / name), "--audio"]) == Exit.BAD_JOB
        assert told in capsys.readouterr().err


def test_what_is_not_ours_is_left_alone(tmp_path: Path) -> None:
    path = kept_job(tmp_path / "a.job")
    folder = sound_folder(path)
    for name in ("notes.txt", f"{'0' * 64}.job", f"{'g' * 64}.wav"):
        (folder / name).write_text("mine")
    (folder / f"{'1' * 64}.part").write_bytes(b"half of one, from a session that was killed")
    assert remove_sounds(sound_folder(path)) == 3
    assert sorted(each.name for each in folder.iterdir()) == sorted(["notes.txt", f"{'0' * 64}.job", f"{'g' * 64}.wav"])


def test_a_changed_sound_is_found(tmp_path: Path) -> None:
    path = kept_job(tmp_path / "a.job")
    next(sound_folder(path).iterdir()).write_bytes(b"another voice")
    found = verify(path)
    assert found.sounds == Sounds(kept=3, there=2, changed=1) and found.exit is Exit.FINDINGS
    assert "1 CHANGED" in found.as_text()


@pytest.mark.parametrize("digest", ["../a.job", "/etc/hostname", "", "A" * 64, "0" * 63, "0" * 64 + "/../../a"])
def test_a_made_up_log_names_no_file_outside_its_folder(tmp_path: Path, digest: str) -> None:
    path = tmp_path / "a.job"
    job = begin_job(path, ScriptedClock())
    job.append([encode(scenario.started()), encode(SoundKept(digest, 1))])
    job.close()
    sound_folder(path).mkdir()
    (tmp_path / "a.job.wav").write_bytes(b"somebody else's")
    before = {each: each.read_bytes() for each in tmp_path.rglob("*") if each.is_file()}
    assert sounds_of([sound_folder(path)], [SoundKept(digest, 1)]) == Sounds(kept=1)
    assert verify(path).sounds.gone == 1
    remove_sounds(sound_folder(path))
    assert {each: each.read_bytes() for each in tmp_path.rglob("*") if each.is_file()} == before


def test_no_room_for_sound_is_told_once_and_the_job_goes_on(tmp_path: Path, capsys: Capture) -> None:
    sound_folder(tmp_path / "a.job").write_text("a file where the folder should be")
    path = kept_job(tmp_path / "a.job")
    assert "sound is not kept" in (told := capsys.readouterr().err) and told.count("\n") == 1
    kinds = [row.kind for row in read_job(path).rows]
    assert kinds.count("said") == 3 and "sound_kept" not in kinds


def test_a_folder_that_cannot_be_emptied(tmp_path: Path) -> None:
    folder = sound_folder(tmp_path / "a.job")
    (folder / f"{'0' * 64}.wav").mkdir(parents=True)
    with pytest.raises(Refusal, match="cannot be emptied") as refused:
        remove_sounds(sound_folder(tmp_path / "a.job"))
    assert refused.value.code is Exit.NOT_WRITABLE


def test_sound_kept_before_a_disk_error_is_found_and_forgotten(tmp_path: Path, capsys: Capture) -> None:
    """It lies beside the old file; a made-up name leads nowhere."""
    kept_job(tmp_path / "a.job")
    (tmp_path / "a.job").rename(path := tmp_path / "a-2.job")
    assert verify(path).sounds == Sounds(kept=3)
    with closing(resume_job(path, ScriptedClock())) as job:
        job.append(
            [encode(CarriedOn(each, 7, "")) for each in ("a.job", "../b.job", "", "/x.job", "\0.job", "y" * 300)]
        )
    assert verify(path).sounds == Sounds(kept=3, there=3)
    elsewhere = sound_folder(tmp_path.parent / "b.job")
    elsewhere.mkdir()
    (elsewhere / f"{'0' * 64}.wav").touch()
    assert main(["forget", str(path), "--audio"]) == Exit.DONE
    assert "3 recordings removed" in capsys.readouterr().out
    assert not sound_folder(tmp_path / "a.job").exists() and list(elsewhere.iterdir())


class Scripted:
    """Ears that hear something from second 2.0 to 3.0 of the stream, once 4 s have gone by."""

    def listen(self, ask: str) -> "Scripted":
        self.fed = 0
        return self

    def feed(self, block: bytes) -> Heard | None:
        self.fed += len(block)
        return self.finish() if self.fed >= 4 * RATE * 2 else None

    def finish(self) -> Heard | None:
        return Heard("pipe", None, 1.0, self.fed / 2 / RATE - 2.0, self.fed / 2 / RATE - 1.0)


def blocks(seconds: int) -> Iterator[bytes]:
    """Every sample tells its own place, in hundredths of a second."""
    for hundredth in range(seconds * 100):
        yield hundredth.to_bytes(2, "little") * (RATE // 100)


def test_ears_keep_the_utterance_and_a_little_around_it() -> None:
    listener = KeepingEars(Scripted()).listen("pull")
    found = next(each for block in blocks(9) if (each := listener.feed(block)) is not None)
    assert len(found.sound) / 2 / RATE == pytest.approx(1.0 + BEFORE_S + AFTER_S)
    assert int.from_bytes(found.sound[:2], "little") == 170 and int.from_bytes(found.sound[-2:], "little") == 319


def test_ears_forget_the_silence_before() -> None:
    scripted = Scripted()
    listener = KeepingEars(scripted).listen("pull")
    scripted.fed = -RATE * 2 * 56  # a minute goes by before anything is heard
    found = next(each for block in blocks(70) if (each := listener.feed(block)) is not None)
    assert sum(map(len, listener._recent._blocks)) <= (LONGEST_S + 1) * RATE * 2
    assert found.sound == b"" or len(found.sound) % 2 == 0
    assert listener._recent._dropped > 40 * RATE * 2


def test_noise_without_words_is_not_kept() -> None:
    class Noise(Scripted):
        def finish(self) -> Heard | None:
            return replace(super().finish() or Heard("", None, 0, 0, 0), text="")

    listener = KeepingEars(Noise()).listen("pull")
    assert next(each for block in blocks(9) if (each := listener.feed(block)) is not None).sound == b""
    assert listener.finish() is not None
