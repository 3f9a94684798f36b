"""`pullcall demo`: one whole job from bundled recordings, through the real recogniser, the real voice, the real log.

The playlist only says which recording is played next; what it means is up to the ears and the session.
"""

import csv
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from assistant import __version__
from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.core.line import line
from assistant.exits import Exit, Refusal
from assistant.ports import Ears, Heard, Voice
from assistant.settings import Settings
from assistant.wording import Wording, word

BLOCK_BYTES = 1024
"""Fed to the ears at a time: 512 samples, 32 ms."""


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

    Raises Refusal (BAD_AUDIO) for a missing playlist or a broken line, with its number.
    """
    playlist = folder / "playlist.tsv"
    try:
        rows = list(csv.DictReader(playlist.read_text(encoding="utf-8").splitlines(), delimiter="\t"))
        return tuple(Recording(folder / row["file"], row["voice"], row["noise"]) for row in rows)
    except OSError:
        raise Refusal(Exit.BAD_AUDIO, f"{playlist}: no such file; a demo folder holds a playlist.tsv") from None
    except (KeyError, TypeError):
        raise Refusal(Exit.BAD_AUDIO, f"{playlist}: needs the columns file, voice and noise in every line") from None

def play(recording: Recording, ears: Ears, ask: str) -> Heard | None:
    """What the ears make of one recording at `ask`; None where nobody speaks in it."""
    listener = ears.listen(ask)
    samples = read_audio(recording.file)
    for start in range(0, len(samples), BLOCK_BYTES):
        heard = listener.feed(samples[start : start + BLOCK_BYTES])
        if heard is not None:
            return heard
    return listener.finish()


def talk_through(
    playlist: tuple[Recording, ...], conversation: Conversation, ears: Ears, show: Callable[[str], None]
) -> None:
    """Play one recording after the other at whatever is asked then, until the job or the playlist ends."""
    conversation.open()
    for number, recording in enumerate(playlist, start=1):
        ask = conversation.ask
        if ask is None:
            return
        heard = play(recording, ears, ask.grammar)
        noise = f", {recording.noise}" if recording.noise else ""
        text = "nothing" if heard is None else heard.text or "noise"
        show(f"[{number:2}/{len(playlist)}] {recording.speaker}{noise}: {text}")
        conversation.take(heard)
