"""`pullcall listen`: a job with microphone and loudspeaker; begins one, or resumes it at the question where it stopped."""

import argparse
from pathlib import Path

from assistant.conversation import Conversation
from assistant.core.tone import Tone
from assistant.exits import Exit
from assistant.ports import Ears, Heard
from assistant.record.job_file import begin_job, resume_job
from assistant.settings import Settings
from assistant.speech.microphone import Microphone
from assistant.wording import Wording
from assistant.workplace import open_workplace


def run(options: argparse.Namespace, settings: Settings) -> Exit:
    """Listen and answer until the job is finished or the keyboard interrupts."""
    path: Path = options.job
    folder = path.parent / f"{path.stem}-files"
    with (
        Microphone(options.device) as microphone,
        open_workplace(folder, settings, model=options.model, quiet=options.quiet) as place,
    ):
        job = resume_job(path, place.clock) if path.exists() else begin_job(path, place.clock)

        def answer(wording: Wording, tone: Tone) -> None:
            spoken = place.answer(wording, tone)
            if spoken is not None:
                microphone.play(spoken)

        try:
            conversation = Conversation(job, answer, place.started)
            conversation.open()
            while (ask := conversation.ask) is not None:
                conversation.take(_hear(microphone, place.ears, ask.grammar))
        except BaseException:
            job.close()
            raise
        place.close_job(job, finished=True)
    return Exit.DONE


def _hear(microphone: Microphone, ears: Ears, ask: str) -> Heard | None:
    listener = ears.listen(ask)
    for block in microphone:
        heard = listener.feed(block)
        if heard is not None:
            return heard
    return listener.finish()
