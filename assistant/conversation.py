"""A job talked through: the pure session between its ports. Nothing is answered before it is durable."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress

from assistant.core import events as ev
from assistant.core.asks import Ask, next_ask
from assistant.core.fold import fold
from assistant.core.line import Line, line
from assistant.core.meaning import Candidate
from assistant.core.offers import careful, unsure
from assistant.core.session import missed, respond
from assistant.core.state import State
from assistant.core.tone import Tone
from assistant.core.turn import Turn
from assistant.exits import Refusal
from assistant.ports import Heard, Store
from assistant.record.codec import decode, encode
from assistant.record.trouble import DiskFailed, DiskFull
from assistant.wording import Wording, word


class Conversation:
    """One session on one job file."""

    def __init__(
        self,
        store: Store,
        answer: Callable[[Wording, Tone], object],
        started: ev.Started,
        keep: Callable[[bytes], ev.Event | None] = lambda sound: None,
    ) -> None:
        """Fold what the file holds and note that a session has started; `answer` says and shows a line.

        `keep` stores the sound of an utterance where that was asked for, and gives the event that tells of it.
        """
        self._store, self._answer, self._keep = store, answer, keep
        self.state: State = fold(decode(kind, payload) for kind, payload in store.rows())
        self._commit((started,))

    @property
    def ask(self) -> Ask | None:
        """The present question; None once the job is finished."""
        return next_ask(self.state)

    def open(self) -> None:
        """Say the present question: the first one, or the one where the job was left."""
        self._say(self.ask.lines if self.ask else (line("job_closed"),))

    def take(self, heard: Heard | None, by: str = "voice") -> Turn:
        """One utterance at the present ask; None = nobody spoke. Noise without words is passed over.

        The answer is what it led to, once that was durable and said.

        Raises DiskFull, once it was said: nothing was recorded or acknowledged, and the question stands.
        Raises DiskFailed, once it was said, where nothing can be recorded any more.
        """
        ask = self.ask
        if ask is None or (heard is not None and not heard.text):
            return Turn()
        turn = self._turn(heard, by)
        try:
            self._commit((*self._said(heard, ask, by), *turn.events))
        except (DiskFull, DiskFailed) as trouble:
            self._alarm("disk_full" if isinstance(trouble, DiskFull) else "not_recording")
            raise
        self._say(turn.lines)
        after = self.ask
        if after is not None and (turn.ask_again or after != ask):
            self._say(after.lines)
        return turn

    def _said(self, heard: Heard | None, ask: Ask, by: str) -> Iterator[ev.Event]:
        if heard is None:
            return
        yield ev.Said(ask.grammar, heard.text, heard.score, by)
        sound = self._keep(heard.sound)
        if sound is not None:
            yield sound

    def _turn(self, heard: Heard | None, by: str) -> Turn:
        if heard is None:
            return missed(self.state, "noinput")
        if heard.meaning is None:
            return unsure(self.state, heard.maybe)
        if by == "tap":
            return respond(self.state, heard.meaning)
        return careful(self.state, Candidate(heard.text, heard.meaning), heard.maybe)

    def _commit(self, events: Iterable[ev.Event]) -> None:
        events = tuple(events)
        self._store.append([encode(each) for each in events])
        self.state = fold(events, self.state)

    def _alarm(self, key: str) -> None:
        # A voice that needs the same disk must not hide what is wrong; the line is shown before it is spoken.
        with suppress(Refusal):
            self._say((line(key),))

    def _say(self, lines: Iterable[Line]) -> None:
        for each in lines:
            self._answer(word(each, self.state.tape), self.state.tone)
