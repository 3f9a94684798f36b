"""Everything a sitting stands on, begun and ended together; what is missing is named, and the rest goes on."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from assistant import __version__
from assistant.aside import Plug, say_aside, show_aside
from assistant.attention import Attention
from assistant.browser.wishes import TabletWishes
from assistant.core import events as ev
from assistant.core.length import System
from assistant.core.line import line
from assistant.cues import Cue
from assistant.exits import Refusal
from assistant.hearer import Hearer
from assistant.keeping import KeepingEars
from assistant.loudspeaker import Loudspeaker
from assistant.patience import wait_s
from assistant.ports import Blocks, Clock, Ears, Voice
from assistant.record.code import job_code
from assistant.record.job_file import JobFile
from assistant.record.job_log import JobLog
from assistant.record.sound import SoundKeeper
from assistant.screen.news import Listening, News, Trouble
from assistant.settings import Settings
from assistant.sitting import Sitting
from assistant.speaker import Speaker
from assistant.wording import Wording, word
from assistant.workplace import ALARMS

if TYPE_CHECKING:
    from assistant.browser.tablet import Tablet
    from assistant.speech.second_ear import SecondEar

TAPPED = "none: tapped"
"""The model's name in the log where nobody listens."""
_SPOKEN = {"missing": "microphone_missing", "lost": "microphone_lost", "back": "microphone_back"}
"""What became of the microphone -> message."""
_LAST_WORDS_S = 20.0
"""The job code may take so long to be said."""


@dataclass(frozen=True)
class Wishes:
    """What the command line asks for."""

    microphone: bool = True
    voice: bool = True
    device: str | None = None
    model: Path | None = None
    keep_audio: bool = False
    tablet: TabletWishes = field(default_factory=TabletWishes)
    """The page for browsers; port 0 = none."""


@dataclass(frozen=True)
class Named:
    """Ears with the name of their model, and the microphone they hear."""

    name: str
    ears: Ears
    microphone: Blocks


class Work:
    """A sitting with its ears and its voice."""

    def __init__(
        self, job: JobFile, clock: Clock, settings: Settings, wishes: Wishes, tell: Callable[[News], object]
    ) -> None:
        """Nothing runs yet. `tell` is called from several threads."""
        self._tablet: Tablet | None = None
        own: Callable[[News], object] = tell  # where to look and the code are not for the browsers
        self._settings, self._wishes, self._tell = settings, wishes, self._to_all(tell)
        tell = self._tell
        self.log = JobLog(job, clock, self._carried_on)
        self._voice, self._sounder = self._open_voice(job.path)
        alarms = [word(line(key, text=""), System.IMPERIAL).say for key in ALARMS]
        self.speaker = Speaker(
            *(self._voice, self._sounder, lambda told: tell(Trouble(told)), alarms, settings.deaf_s),
            self._tones(job.path),
        )
        keep = SoundKeeper(lambda: self.log.path)
        self.sitting = Sitting(self.log, self._started, self.speaker, tell, self._code, keep, self._wait_s)
        if wishes.tablet.port:
            self._tablet = self._make_tablet(own)
        self._attention = Attention(settings.manners)
        self._plug, self._clock, self._became = Plug(), clock, "back"
        self._closed = threading.Event()
        self._ears_thread: threading.Thread | None = None

    def start(self) -> None:
        """Ask the first question; ears open meanwhile."""
        if self._tablet is not None:
            self._tablet.open()
        self.sitting.start()

    def talk(self) -> None:
        """The talk key: the voice is hushed, and the ears are open."""
        self._attention.press()
        self.speaker.hush()

    def _make_tablet(self, own: Callable[[News], object]) -> "Tablet":
        from assistant.browser.tablet import Tablet

        return Tablet(self._wishes.tablet, self.sitting, own, self._settings.theme)

    def _to_all(self, tell: Callable[[News], object]) -> Callable[[News], object]:
        """To the screen of this machine first, then to the browsers, which nothing waits for."""

        def told(news: News) -> None:
            tell(news)
            if self._tablet is not None:
                self._tablet.tell(news)

        return told

    def _open_voice(self, job: Path) -> tuple[Voice | None, Loudspeaker | None]:
        """A loudspeaker that is missing is told with the first line, and looked for again."""
        if not self._wishes.voice:
            return None, None
        from assistant.speech.voice import EspeakVoice

        voice = EspeakVoice(job.parent / f"{job.stem}-files" / "voice", rate=self._settings.rate)
        return voice, Loudspeaker(awaited=True)

    def _tones(self, job: Path) -> dict[Cue, Path]:
        if not self._settings.tones or self._voice is None:
            return {}
        from assistant.speech.tones import write_tones

        try:
            return write_tones(job.parent / f"{job.stem}-files" / "tones")
        except Refusal as refusal:
            self._tell(Trouble(f"no tones: {refusal.line}"))
            return {}

    def _started(self) -> ev.Started:
        """Opens the ears first, in the sitting's thread: the log names the model."""
        ears = self._open_ears() if self._wishes.microphone else None
        if ears is not None:
            self._ears_thread = threading.Thread(target=self._listen, args=(ears,), name="ears", daemon=True)
            self._ears_thread.start()
        return self._settings.started(__version__, TAPPED if ears is None else ears.name)

    def _open_ears(self) -> Named | None:
        from assistant.speech.ears import VoskEars
        from assistant.speech.microphone import Microphone

        try:
            ears = VoskEars(self._wishes.model, second=self._open_second)
        except Refusal as refusal:
            self._tell(Trouble(f"no ears: {refusal.line}; tap or type meanwhile"))
            return None
        device = self._wishes.device or self._settings.device
        microphone = Microphone(device, self._microphone_told, awaited=True)
        return Named(ears.name, KeepingEars(ears) if self._wishes.keep_audio else ears, microphone)

    def _open_second(self) -> "SecondEar | None":
        from assistant.speech.second_ear import second_ear

        try:
            return second_ear(self._settings.second_ear)
        except Refusal as refusal:
            self._tell(Trouble(f"one ear alone: {refusal.line}"))
            return None

    def _listen(self, ears: Named) -> None:
        with ears.microphone as blocks:
            hearer = Hearer(blocks, ears.ears, self.sitting, self.speaker, self._ears_told, self._attention)
            hearer.start()
            self._closed.wait()
        hearer.stop()

    def _microphone_told(self, what: str, told: str) -> None:
        """Shown always; said where nobody looks at the screen because of it."""
        if what in _SPOKEN:
            self._became = what
            show_aside(self._of_the_microphone(), told, self._tell)
            self._say_of_the_microphone()
        else:
            self._tell(Trouble(told))

    def _ears_told(self, news: Listening | Trouble) -> None:
        self._tell(news)
        if isinstance(news, Listening):  # they come all the time: a loss that came too soon to be said is said in time
            self._say_of_the_microphone()

    def _say_of_the_microphone(self) -> None:
        if self._plug.is_to_be_said(self._became != "back", self._clock.monotonic_ms()):
            say_aside(self._of_the_microphone(), self.speaker)

    def _of_the_microphone(self) -> Wording:
        return word(line(_SPOKEN[self._became]), System.IMPERIAL)

    def _carried_on(self, path: Path) -> None:
        told = word(line("new_file", text=str(path)), System.IMPERIAL)
        self._beside_the_talk(told, told.show)

    def _beside_the_talk(self, told: Wording, shown: str) -> None:
        show_aside(told, shown, self._tell)
        say_aside(told, self.speaker)

    def _wait_s(self, ask: str) -> float:
        return wait_s(ask, self._settings.ask_again_s)

    def _code(self) -> str:
        return job_code(self.log.history())

    def end(self) -> None:
        """Finish what is being said and taken, then give everything back; the job file stays whole."""
        self._closed.set()
        self.sitting.end()
        if self.sitting.finished:
            self.speaker.finish(_LAST_WORDS_S)
        else:
            self.speaker.hush()
            self.speaker.finish(1.0)
        if self._ears_thread is not None:
            self._ears_thread.join(2.0)
        if self._voice is not None:
            self._voice.close()
        if self._sounder is not None:
            self._sounder.close()
        if self._tablet is not None:
            self._tablet.close()
        self.log.close()
