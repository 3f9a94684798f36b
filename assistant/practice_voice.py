"""`pullcall practice --voice`: the learner speaks, the assistant answers aloud; what the tape shows is printed."""

import argparse
from dataclasses import replace
from pathlib import Path

from assistant.exits import Exit
from assistant.live import AloudVoice
from assistant.practice.learner import Preset
from assistant.practice_command import Practice, open_job
from assistant.settings import Settings
from assistant.speech.microphone import Microphone
from assistant.workplace import open_workplace


def practise_aloud(folder: Path, options: argparse.Namespace, settings: Settings, preset: Preset) -> Exit:
    """Listen until the job is closed. Raises Refusal as `pullcall listen` does."""
    with (
        Microphone(options.device) as microphone,
        open_workplace(folder, settings, model=options.model, quiet=False) as place,
    ):
        place = replace(place, voice=AloudVoice(place.voice, microphone))
        job = open_job(folder, place)
        try:
            practice = Practice(job, place, options.seed, preset, lambda text: print(text, flush=True))
            practice.open(aloud=True)
            _listen(practice, microphone)
            return practice.close()
        finally:
            job.close()


def _listen(practice: Practice, microphone: Microphone) -> None:
    while (ask := practice.conversation.ask) is not None:
        listener = practice.ears.listen(ask.grammar)
        heard = next(filter(None, map(listener.feed, microphone)), None)
        if heard is not None and heard.text:
            print(f"\nyou:    {heard.text.replace('[unk]', '(something else)')}", flush=True)
            practice.take(heard, "voice")
