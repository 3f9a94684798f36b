"""`pullcall demo`: one whole job from bundled recordings, through the real recogniser, the real voice, the real log.

The playlist only says which recording is played next; what it means is up to the ears and the session.
"""

import argparse
import csv
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from assistant.conversation import Conversation
from assistant.exits import Exit, Refusal
from assistant.ports import Ears, Heard
from assistant.record.job_file import begin_job
from assistant.record.sound import SoundKeeper
from assistant.settings import Settings
from assistant.shelf import recordings_folder
from assistant.speech.audio import read_audio
from assistant.workplace import open_workplace

BLOCK_BYTES = 1024
"""Fed to the ears at a time: 512 samples, 32 ms, as a microphone brings them."""


@dataclass(frozen=True)
class Recording:
    """One line of the playlist."""

    file: Path
    speaker: str
    """Which synthetic voice speaks."""
    noise: str
    """What was mixed in; '' = nothing."""


def read_playlist(folder: Path) -> tuple[Recording, ...]:
    """The recordings of `folder`/playlist.tsv in order.

    Raises Refusal (BAD_AUDIO) for a missing playlist or a broken one.
    """
    playlist = folder / "playlist.tsv"
    try:
        rows = list(csv.DictReader(playlist.read_text(encoding="utf-8").splitlines(), delimiter="\t"))
        found = tuple(Recording(folder / row["file"], row["voice"], row["noise"]) for row in rows)
    except OSError:
        raise Refusal(Exit.BAD_AUDIO, f"{playlist}: cannot be read; a demo folder holds a playlist.tsv") from None
    except (KeyError, TypeError, ValueError, csv.Error):
        raise Refusal(Exit.BAD_AUDIO, f"{playlist}: needs the columns file, voice and noise in every line") from None
    if not found or any(each.noise is None or not str(each.file).isprintable() for each in found):
        raise Refusal(Exit.BAD_AUDIO, f"{playlist}: holds no recordings, or a line without file, voice and noise")
    return found


def talk_through(
    playlist: tuple[Recording, ...], conversation: Conversation, ears: Ears, show: Callable[[str], None]
) -> None:
    """Play one recording after the other at whatever is asked then, until the job or the playlist ends."""
    conversation.open()
    for number, recording in enumerate(playlist, start=1):
        if conversation.ask is None:
            return
        noise = f" ({recording.noise})" if recording.noise else ""
        who = f"[{number:2}/{len(playlist)}] {recording.speaker}{noise}:"
        answered = False
        for heard in _utterances(read_audio(recording.file), conversation, ears):
            show(f"{who} {heard.text or '(noise)'}")
            conversation.take(heard)
            answered = True
        if not answered:
            show(f"{who} (nothing)")
            conversation.take(None)


def _utterances(samples: bytes, conversation: Conversation, ears: Ears) -> Iterator[Heard]:
    """What is heard in one recording; each utterance at the ask that stands when it begins."""
    ask = conversation.ask
    listener = None if ask is None else ears.listen(ask.grammar)
    for start in range(0, len(samples), BLOCK_BYTES):
        heard = None if listener is None else listener.feed(samples[start : start + BLOCK_BYTES])
        if heard is not None:
            yield heard
            ask, listener = conversation.ask, None  # the listener before holds a model until it is let go
            listener = None if ask is None else ears.listen(ask.grammar)
    last = None if listener is None else listener.finish()
    if last is not None:
        yield last


def run(options: argparse.Namespace, settings: Settings) -> Exit:
    """Talk the demo job through, write its report, say where everything is."""
    begun = time.monotonic()
    playlist = read_playlist(options.recordings or recordings_folder() / "demo")
    folder = _new_folder(options.out)
    with open_workplace(
        folder, settings, model=options.model, quiet=options.quiet, keep_audio=options.keep_audio
    ) as place:
        _make(folder)  # only now: a wrong model leaves no empty folder behind
        job = place.log(begin_job(folder / "demo.job", place.clock))
        try:
            conversation = Conversation(job, place.answer, place.started, SoundKeeper(lambda: job.path))
            talk_through(playlist, conversation, place.ears, _show)
        except BaseException:
            job.close()
            raise
        finished = conversation.ask is None
        if not finished:
            print("\nThe recordings ended before the job did: it stands at the question above.")
        place.close_job(job, finished=finished)
    print(f"\nFiles are in {folder.resolve()}")
    print(f"pullcall: {time.monotonic() - begun:.0f} s", file=sys.stderr)
    return Exit.DONE


def _show(text: str) -> None:
    print(f"\n{text}", flush=True)


def _new_folder(wanted: Path | None) -> Path:
    """`wanted`, or the first free of pullcall-demo, pullcall-demo-2 ... Never an earlier job's folder."""
    folder = wanted or next(each for each in _names() if not each.exists())
    if any(folder.glob("*.job")):
        raise Refusal(Exit.NOT_WRITABLE, f"{folder}: holds a job already; name a new folder with --out")
    return folder


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Refusal(
            Exit.NOT_WRITABLE, f"{folder}: cannot be made ({error.strerror}); name another with --out"
        ) from None


def _names() -> Iterator[Path]:
    yield Path("pullcall-demo")
    yield from (Path(f"pullcall-demo-{number}") for number in count(2))
