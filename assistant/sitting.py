"""One sitting at a job: the conversation in a thread of its own, between ears, taps, voice and screens.

Whatever is heard or tapped comes in by one queue and names the turn it answers; one that comes late, because something
else was answered meanwhile, is told as such and never taken for an answer to the next question.
"""

import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace

from assistant.conversation import Conversation
from assistant.core import events as ev
from assistant.core.length import System
from assistant.core.line import line
from assistant.core.session import asks_in_silence
from assistant.core.tone import PLAIN, Tone
from assistant.core.turn import Turn
from assistant.cues import Cue, cue_of, warned
from assistant.exits import Refusal, one_line
from assistant.patience import Patience
from assistant.ports import Heard, Store
from assistant.record.trouble import DiskFull
from assistant.screen.news import News, Sign, Trouble
from assistant.screen.view import Exchange, panel_of
from assistant.speaker import Speaker
from assistant.speech.grammars import grammar
from assistant.speech.text_ears import TextEars
from assistant.speech.understand import understand
from assistant.wording import Wording, word

LATE = "That came too late. Again, please."


@dataclass(frozen=True)
class _Said:
    turn: int
    heard: Heard
    by: str


@dataclass(frozen=True)
class _Silence:
    turn: int


class Sitting:
    """The session behind every screen; each is a thin one. Implements screen.news.Desk."""

    def __init__(
        self,
        store: Store,
        started: Callable[[], ev.Started],
        speaker: Speaker,
        tell: Callable[[News], object],
        code: Callable[[], str] = lambda: "",
        keep: Callable[[bytes], ev.Event | None] = lambda sound: None,
        wait_s: Callable[[str], float] = lambda ask: 0.0,
    ) -> None:
        """`tell` is called from the sitting's thread; `started` and `code` (of the closed job) are asked there too.

        `wait_s`: seconds of silence at an ask before it asks again; 0 = never.
        """
        self._store, self._started, self._speaker, self._tell = store, started, speaker, tell
        self._code, self._keep = code, keep
        self._wait_s, self._patience = wait_s, Patience()
        self._waits_s = 0.0
        """At the question that is open."""
        self._inbox: queue.SimpleQueue[_Said | _Silence | None] = queue.SimpleQueue()
        self._answers: list[tuple[Wording, Tone]] = []
        self._turn = 0
        self._open: tuple[int, str] | None = None
        self.finished = False
        """The job was closed."""
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, name="sitting", daemon=True)

    def start(self) -> None:
        """Ask the first question."""
        self._thread.start()

    @property
    def open_question(self) -> tuple[int, str] | None:
        """Turn and grammar that ears should listen for; None before the first question and after the last."""
        return self._open

    def tap(self, turn: int, sentence: str) -> None:
        """A sentence tapped or typed at the question of `turn`; the voice is hushed."""
        self._speaker.hush()
        question = self.open_question
        if question is None:
            return
        heard = TextEars().listen(question[1]).feed(sentence.replace("\n", " ").encode() + b"\n")
        assert heard is not None, "a whole line is an utterance"
        self._inbox.put(_Said(turn, heard, "tap"))

    def accepts(self, ask: str, sentence: str) -> bool:
        """Does the ask's grammar accept the sentence?"""
        return understand(sentence, grammar(ask)) is not None

    def hear(self, turn: int, heard: Heard) -> None:
        """An utterance heard at the question of `turn`."""
        self._inbox.put(_Said(turn, heard, "voice"))

    def listened(self, turn: int, seconds: float, speaking: bool) -> None:
        """So many more seconds were listened to the question of `turn`; `speaking` = somebody is in mid-sentence."""
        if self._patience.over(turn, seconds, speaking, self._waits_s):
            self._inbox.put(_Silence(turn))

    def touched(self) -> None:
        """As the desk of a screen asks."""
        self._patience.touched()

    def end(self, timeout_s: float = 10.0) -> None:
        """Stop after what was said so far."""
        self._inbox.put(None)
        self._thread.join(timeout_s)

    @property
    def ended(self) -> bool:
        """The job was closed, or the sitting ended."""
        return self._ended.is_set()

    def _run(self) -> None:
        try:
            self._talk()
        except Refusal as refusal:
            self._tell(Trouble(refusal.line))
        except Exception as error:
            self._broken_off(error)
            raise  # its traceback goes to stderr
        finally:
            self._open = None
            self._ended.set()

    def _broken_off(self, error: Exception) -> None:
        """Nobody may go on in the belief that it is still recorded."""
        self._speaker.sound(Cue.WARNING)
        self._speaker.say(word(line("broken_off"), System.IMPERIAL), PLAIN)
        why = " ".join(f"{type(error).__name__}: {error}".split())
        cure = "the last answer may not be recorded; end it, then 'pullcall' resumes the job"
        self._tell(Trouble(warned(one_line(f"pullcall failed ({why}), {cure}"))))

    def _talk(self) -> None:
        conversation = Conversation(self._store, self._answer, self._started(), self._keep)
        conversation.open()
        self._say()
        self._show(conversation, Exchange())
        while conversation.ask is not None and (said := self._inbox.get()) is not None:
            if isinstance(said, _Said):
                self._take(conversation, said)
            elif said.turn == self._turn:
                self._ask_again(conversation)
        self.finished = conversation.ask is None

    def _take(self, conversation: Conversation, said: _Said) -> None:
        heard = said.heard
        if not heard.text:
            return
        if said.turn != self._turn:
            self._tell(Trouble(f"{LATE} ({heard.text})"))
            return
        self._tell(Sign(heard.text))
        turn = self._turn_of(conversation, heard, said.by)
        if turn is None:
            return
        self._turn += 1
        cue = self._say(turn)
        text = heard.text.replace("[unk]", "(something else)")
        # What was not trusted and is asked about is no miss.
        understood = heard.meaning is not None or not conversation.state.misses.nomatch
        self._show(conversation, Exchange(self._turn, text, understood, self._told, cue=cue))

    def _ask_again(self, conversation: Conversation) -> None:
        """Nobody spoke. The turn stays: what is half tapped or just being said still answers this question."""
        if self._turn_of(conversation, None, "voice") is not None:
            self._say()
            self._show(conversation, Exchange(self._turn, answers=self._told))

    def _turn_of(self, conversation: Conversation, heard: Heard | None, by: str) -> Turn | None:
        """What it led to; None where it could not be recorded: nothing is acknowledged, and the question stands."""
        self._answers = []
        try:
            return conversation.take(heard, by)
        except DiskFull as trouble:
            self._tell(Trouble(warned(trouble.line), stands=True))
            self._speaker.sound(Cue.WARNING)
            self._say()
            return None
        except Refusal:  # the disk failed: the last words are the alarm
            self._say()
            raise

    @property
    def _told(self) -> tuple[Wording, ...]:
        return tuple(wording for wording, _ in self._answers)

    def _say(self, turn: Turn | None = None) -> Cue | None:
        """Say what the turn is answered with, its tone first, which is known only once all of it is."""
        cue = None if turn is None else cue_of(turn.events, (each.cue for each in self._told))
        if cue is not None:
            self._speaker.sound(cue)
        for wording, tone in self._answers:
            self._speaker.say(wording, tone)
        return cue

    def _answer(self, wording: Wording, tone: Tone) -> None:
        self._answers.append((wording, tone))

    def _show(self, conversation: Conversation, exchange: Exchange) -> None:
        ask = conversation.ask
        if ask is None:
            told = word(line("job_code", code=self._code()), System.IMPERIAL)
            self._speaker.say(told, conversation.state.tone)
            exchange = replace(exchange, understood=True, answers=(*exchange.answers, told), code=self._code())
        waits = ask is not None and asks_in_silence(conversation.state)
        self._waits_s = self._wait_s(ask.grammar) if ask is not None and waits else 0.0
        self._open = None if ask is None else (self._turn, ask.grammar)
        self._tell(panel_of(conversation.state, exchange))
