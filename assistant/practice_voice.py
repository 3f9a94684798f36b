"""`pullcall practice --voice`: the learner speaks, the assistant answers aloud; what the tape shows is printed."""

import argparse
import sys
from dataclasses import replace
from pathlib import Path

from assistant.core.tone import PLAIN, Tone
from assistant.exits import Exit
from assistant.loudspeaker import Loudspeaker
from assistant.ports import Listener, Voice
from assistant.practice.learner import Preset
from assistant.practice_command import Practice, open_job
from assistant.settings import Settings
from assistant.speaker import Speaker
from assistant.speech.microphone import Microphone
from assistant.wording import Wording
from assistant.workplace import open_workplace

_LAST_WORDS_S = 20.0
"""The job code may take so long to be said."""


class Aloud:
    """The Voice port, heard: what is spoken goes to the speaker."""

    def __init__(self, voice: Voice, speaker: Speaker) -> None:
        self._voice, self._speaker = voice, speaker

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        """Said after what waits to be said; no file is told."""
        self._speaker.say(Wording(text, text, helper), tone)
        return Path()

    def close(self) -> None:
        """As the port asks."""
        self._voice.close()


def practise_aloud(folder: Path, options: argparse.Namespace, settings: Settings, preset: Preset) -> Exit:
    """Listen until the job is closed. Raises Refusal for a microphone, a loudspeaker or a model that is not there."""
    with (
        Microphone(options.device or settings.device, lambda what, line: _say(line)) as microphone,
        open_workplace(folder, settings, model=options.model, quiet=False) as place,
    ):
        speaker = Speaker(place.voice, Loudspeaker(), _say, ringing_s=settings.deaf_s)
        place = replace(place, voice=Aloud(place.voice, speaker))
        job = open_job(folder, place)
        try:
            practice = Practice(job, place, options.seed, preset, lambda text: print(text, flush=True))
            practice.open(aloud=True)
            _listen(practice, microphone, speaker)
            done = practice.close()
            speaker.finish(_LAST_WORDS_S)
            return done
        finally:
            speaker.hush()
            job.close()


def _listen(practice: Practice, microphone: Microphone, speaker: Speaker) -> None:
    listener: Listener | None = None
    for block in microphone:
        ask = practice.conversation.ask
        if ask is None:
            return
        if speaker.deaf or not block:
            listener = None
            continue
        listener = listener or practice.ears.listen(ask.grammar)
        heard = listener.feed(block)
        if heard is None:
            continue
        listener = None
        if heard.text:
            print(f"\nyou:    {heard.text.replace('[unk]', '(something else)')}", flush=True)
            practice.take(heard, "voice")


def _say(line: str) -> None:
    print(f"pullcall: {line}", file=sys.stderr, flush=True)
