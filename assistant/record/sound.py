"""The sound of utterances, kept beside a job only where that was asked for, and removed without touching the log."""

import os
import re
import sys
import wave
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from pathlib import Path

from assistant.core.log_events import SoundKept
from assistant.exits import Exit, Refusal
from assistant.ports import RATE

_DIGEST = re.compile(r"[0-9a-f]{64}")
_OURS = re.compile(r"[0-9a-f]{64}\.(wav|part)")


def sound_folder(job: Path) -> Path:
    """Where the sound of a job lies."""
    return job.with_name(f"{job.stem}-audio")


def sound_folders(job: Path, earlier: Iterable[str]) -> tuple[Path, ...]:
    """The job's own folder, and those of the files it went on from. A name that leads elsewhere is passed over."""
    found = [sound_folder(job)]
    for name in earlier:
        with suppress(ValueError, OSError):
            folder = sound_folder(job.with_name(name))
            found += [folder] if folder.is_dir() else []
    return tuple(dict.fromkeys(found))


class SoundKeeper:
    """Writes each utterance as a WAV file called by its hash: mono, signed 16 bit, RATE samples a second."""

    def __init__(self, job: Callable[[], Path]) -> None:
        """`job` names the file written at present."""
        self._job = job
        self._told = False

    def __call__(self, samples: bytes) -> SoundKept | None:
        """The event that tells of a file that is durable by now; None where there is nothing to keep, or no room.

        The job goes on without its sound, and the first failure is told.
        """
        if not samples:
            return None
        data = _wav(samples)
        name = sha256(data).hexdigest()
        try:
            _write(sound_folder(self._job()) / f"{name}.wav", data)
        except OSError as error:
            self._tell(error)
            return None
        return SoundKept(name, len(samples) * 1000 // (2 * RATE))

    def _tell(self, error: OSError) -> None:
        if not self._told:
            print(f"pullcall: sound is not kept ({error.strerror}); the job goes on without it", file=sys.stderr)
        self._told = True


def _wav(samples: bytes) -> bytes:
    out = BytesIO()
    with wave.open(out, "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(RATE)
        sound.writeframes(samples)
    return out.getvalue()


def _write(file: Path, data: bytes) -> None:
    """Under its name only once it is whole."""
    file.parent.mkdir(exist_ok=True)
    part = file.with_suffix(".part")
    try:
        with part.open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        part.replace(file)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


@dataclass(frozen=True)
class Sounds:
    """What became of the sound a log tells of."""

    kept: int = 0
    """Utterances whose sound was kept."""
    there: int = 0
    """Files that are there, as they were written."""
    changed: int = 0
    """Files that are there, and are not what was written."""

    @property
    def gone(self) -> int:
        """Files that were removed."""
        return self.kept - self.there - self.changed


def sounds_of(folders: Iterable[Path], kept: Iterable[SoundKept]) -> Sounds:
    """Hold the files against the hashes in the log. A hash that is none names no file."""
    total = there = changed = 0
    for each in kept:
        found = [_sound(folder / f"{each.sha256}.wav", each.sha256) for folder in folders]
        total, there, changed = total + 1, there + (True in found), changed + (True not in found and False in found)
    return Sounds(total, there, changed)


def _sound(file: Path, digest: str) -> bool | None:
    """Is it as written? None = it is not there."""
    if not _DIGEST.fullmatch(digest):
        return None
    try:
        return sha256(file.read_bytes()).hexdigest() == digest
    except (OSError, ValueError):
        return None


def remove_sounds(folder: Path) -> int:
    """Remove every sound in a job's folder, those of a session that was killed too; how many there were.

    Only files named as `SoundKeeper` names them. Raises Refusal (NOT_WRITABLE).
    """
    try:
        found = [each for each in folder.iterdir() if _OURS.fullmatch(each.name)] if folder.is_dir() else []
        for each in found:
            each.unlink()
    except OSError as error:
        raise Refusal(Exit.NOT_WRITABLE, f"{folder}: cannot be emptied ({error.strerror}); remove it by hand") from None
    with suppress(OSError):
        folder.rmdir()  # stays where something else lies in it
    return len([each for each in found if each.suffix == ".wav"])
