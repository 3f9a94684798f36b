"""`pullcall practice --voice`: the learner speaks, the assistant answers aloud; what the tape shows is printed."""

import argparse
import sys
import threading
from dataclasses import replace
from itertools import takewhile
from pathlib import Path

from assistant.attention import Attention
from assistant.core.session import asks_in_silence
from assistant.core.tone import PLAIN, Tone
from assistant.exits import Exit
from assistant.hearer import Hearer
from assistant.loudspeaker import Loudspeaker
from assistant.patience import Patience, wait_s
from assistant.ports import Heard, Voice
from assistant.practice.learner import Preset
from assistant.practice_job import Practice, open_job
from assistant.screen.news import Listening, Trouble
from assistant.screen.plain import TALK, OfTheEars
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
            _listen(practice, microphone, speaker, settings)
            done = practice.close()
            speaker.finish(_LAST_WORDS_S)
            return done
        finally:
            speaker.hush()
            job.close()


class Lesson:
    """The practice as a hearer sees whoever asks. Implements hearer.Asker."""

    def __init__(self, practice: Practice, again_s: int) -> None:
        """`again_s`: [dialogue] ask_again_s."""
        self._practice, self._again_s = practice, again_s
        self._turn, self._patience = 0, Patience()

    @property
    def open_question(self) -> tuple[int, str] | None:
        """As the protocol asks."""
        ask = self._practice.conversation.ask
        return None if ask is None else (self._turn, ask.grammar)

    def listened(self, turn: int, seconds: float, speaking: bool) -> None:
        """As the protocol asks."""
        ask, waits = self._practice.conversation.ask, asks_in_silence(self._practice.conversation.state)
        wait = wait_s(ask.grammar, self._again_s) if ask is not None and waits else 0.0
        if self._patience.over(turn, seconds, speaking, wait):
            self._practice.take(None, "voice")

    def hear(self, turn: int, heard: Heard) -> None:
        """As the protocol asks."""
        if heard.text:
            self._turn += 1
            print(f"\nyou:    {heard.text.replace('[unk]', '(something else)')}", flush=True)
            self._practice.take(heard, "voice")


def _listen(practice: Practice, microphone: Microphone, speaker: Speaker, settings: Settings) -> None:
    """Until the job is closed, by the manners of a real session."""
    attention, of_the_ears = Attention(settings.manners), OfTheEars()

    def tell(news: Listening | Trouble) -> None:
        told = news.line if isinstance(news, Trouble) else of_the_ears.line(news)
        if told:
            _say(told)

    def talk_key() -> None:
        for typed in sys.stdin:
            if typed.strip().lower() == TALK:
                attention.press()
                speaker.hush()

    if not settings.manners.always_open:
        threading.Thread(target=talk_key, name="talk key", daemon=True).start()
    blocks = takewhile(lambda _: practice.conversation.ask is not None, microphone)
    Hearer(blocks, practice.ears, Lesson(practice, settings.ask_again_s), speaker, tell, attention).listen()


def _say(line: str) -> None:
    print(f"pullcall: {line}", file=sys.stderr, flush=True)
