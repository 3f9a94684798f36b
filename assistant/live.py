"""`pullcall listen`: a job with microphone and loudspeaker; begins one, or resumes it at the question where it stopped.

It waits for as long as the installer works: silence is no answer, and nobody is asked twice for being busy.
"""

import argparse
import sys
from collections import deque
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from assistant.conversation import Conversation
from assistant.core.tone import PLAIN, Tone
from assistant.exits import Exit
from assistant.ports import RATE, Ears, Heard, Voice
from assistant.record.job_file import begin_job, resume_job
from assistant.record.job_log import JobLog
from assistant.record.sound import SoundKeeper
from assistant.record.trouble import DiskFull
from assistant.settings import Settings
from assistant.speech.microphone import BLOCK, Microphone
from assistant.workplace import Workplace, open_workplace

KEPT_BLOCKS = 300
"""Sound kept to judge its level by: 9.6 s, more than the longest utterance."""


class AloudVoice:
    """The Voice port, heard at once: what is spoken is played to its end while the microphone is deaf."""

    def __init__(self, voice: Voice, microphone: Microphone) -> None:
        self._voice, self._microphone = voice, microphone

    def speak(self, text: str, *, helper: bool = False, tone: Tone = PLAIN) -> Path:
        """As the port asks. Raises Refusal (NO_VOICE) for a loudspeaker that fails, too."""
        wav = self._voice.speak(text, helper=helper, tone=tone)
        self._microphone.play(wav)
        return wav

    def close(self) -> None:
        """As the port asks."""
        self._voice.close()


def run(options: argparse.Namespace, settings: Settings) -> Exit:
    """Listen and answer until the job is finished or the keyboard interrupts."""
    path: Path = options.job
    folder = path.parent / f"{path.stem}-files"
    with (
        Microphone(options.device) as microphone,
        open_workplace(
            folder, settings, model=options.model, quiet=options.quiet, keep_audio=options.keep_audio
        ) as place,
    ):
        aloud = place if options.quiet else replace(place, voice=AloudVoice(place.voice, microphone))
        job = aloud.log(resume_job(path, place.clock) if path.exists() else begin_job(path, place.clock))
        _say(f"listening with '{microphone.name}', job in {path}; Ctrl-C stops")
        try:
            place.rehearse()
            _talk(job, aloud, microphone)
        except BaseException:
            job.close()
            _say(f"the job is kept; 'pullcall listen {job.path}' resumes it")
            raise
        aloud.close_job(job, finished=True)
    return Exit.DONE


def _talk(job: JobLog, place: Workplace, microphone: Microphone) -> None:
    conversation = Conversation(job, place.answer, place.started, SoundKeeper(lambda: job.path))
    conversation.open()
    while (ask := conversation.ask) is not None:
        heard = _hear(microphone, place.ears, ask.grammar)
        if heard.text:
            print(f"\nheard:  {heard.text.replace('[unk]', '(something else)')}", flush=True)
            with suppress(DiskFull):  # it was said; once there is room the same is said again
                conversation.take(heard)


def _hear(microphone: Microphone, ears: Ears, ask: str) -> Heard:
    """The next utterance, however long it takes to come."""
    listener = ears.listen(ask)
    recent: deque[bytes] = deque(maxlen=KEPT_BLOCKS)
    for fed, block in enumerate(microphone, start=1):
        recent.append(block)
        heard = listener.feed(block)
        if heard is not None:
            since = fed * BLOCK - round(heard.start_s * RATE)
            microphone.judge(b"".join(recent)[-2 * since :])
            return heard
    raise AssertionError("a microphone's blocks have no end")


def _say(text: str) -> None:
    print(f"pullcall: {text}", file=sys.stderr, flush=True)
