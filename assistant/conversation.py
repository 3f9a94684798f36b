"""A job talked through: the pure session between its ports. Nothing is answered before it is durable."""

from collections.abc import Callable, Iterable

from assistant.core import events as ev
from assistant.core.asks import Ask, next_ask
from assistant.core.fold import fold
from assistant.core.line import Line, line
from assistant.core.session import missed, respond
from assistant.core.state import State
from assistant.core.tone import Tone
from assistant.core.turn import Turn
from assistant.ports import Heard, Store
from assistant.record.codec import decode, encode
from assistant.wording import Wording, word


class Conversation:
    """One session on one job file."""

    def __init__(self, store: Store, answer: Callable[[Wording, Tone], object], started: ev.Started) -> None:
        """Fold what the file holds and note that a session has started; `answer` says and shows a line."""
        self._store = store
        self._answer = answer
        self.state: State = fold(decode(kind, payload) for kind, payload in store.rows())
        self._commit((started,))

    @property
    def ask(self) -> Ask | None:
        """The present question; None once the job is finished."""
        return next_ask(self.state)

    def open(self) -> None:
        """Say the present question: the first one, or the one where the job was left."""
        self._say(self.ask.lines if self.ask else (line("job_closed"),))

    def take(self, heard: Heard | None, by: str = "voice") -> None:
        """One utterance at the present ask; None = nobody spoke. Noise without words is passed over."""
        ask = self.ask
        if ask is None or (heard is not None and not heard.text):
            return
        said = () if heard is None else (ev.Said(ask.grammar, heard.text, heard.score, by),)
        turn = self._turn(heard)
        self._commit((*said, *turn.events))
        self._say(turn.lines)
        after = self.ask
        if after is not None and (turn.ask_again or after != ask):
            self._say(after.lines)

    def _turn(self, heard: Heard | None) -> Turn:
        if heard is None:
            return missed(self.state, "noinput")
        return missed(self.state, "nomatch") if heard.meaning is None else respond(self.state, heard.meaning)

    def _commit(self, events: Iterable[ev.Event]) -> None:
        events = tuple(events)
        self._store.append([encode(each) for each in events])
        self.state = fold(events, self.state)

    def _say(self, lines: Iterable[Line]) -> None:
        for each in lines:
            self._answer(word(each, self.state.tape), self.state.tone)
