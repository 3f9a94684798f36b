"""The trainer: works the simulated carpet as the learner is told to, tells what the tape shows, keeps the mistakes."""

from dataclasses import dataclass, field

from assistant.core import events as ev
from assistant.core.advice import Move
from assistant.core.asks import next_ask
from assistant.core.length import Length, tape
from assistant.core.plan import Pull
from assistant.core.state import State
from assistant.practice.carpet import draw_carpet
from assistant.practice.oracle import lands
from assistant.practice.sheet import Sheet

MOST_CATCHING_UP = 40
"""Bites at most by which a resumed pull is brought to where it stood."""


@dataclass
class Trainer:
    """Watches one job from state to state. It lets mistakes be made."""

    seed: int
    """Of the carpet."""
    shown: Length | None = None
    """What the tape shows now; None after a slip that was not told yet."""
    mistakes: list[str] = field(default_factory=list)
    """What went wrong, and what would have been right, in order."""
    _sheet: Sheet | None = None
    _at: int = 0
    """Number of the pull worked on."""
    _pulled: set[int] = field(default_factory=set)

    def attend(self, before: State, after: State) -> list[str]:
        """What the tape does after one utterance; lines for the learner."""
        if after.plan is None:
            return []
        if self._sheet is None:
            self._sheet = Sheet(draw_carpet(self.seed), after.plan)
        if before.pull is not None and before.plan is after.plan:
            self._watch(before, after)
        ask = next_ask(after)
        if ask is None or after.pull is None or ask.grammar not in ("pull", "hold"):
            return []
        return self._hold(after) if ask.grammar == "hold" else self._pull(before, after, after.pull)

    def bite(self) -> list[str]:
        """One more bite, because the learner wants it."""
        return self._bite("you take another bite") if self._at else ["(no pull is open yet)"]

    def verdict(self) -> list[str]:
        """At the end: how the pulls of this session really hold, and every mistake with what would have been right."""
        if self._sheet is None:
            return []
        pulls = [each for each in self._sheet.plan.pulls if each.number in self._pulled and each.band is not None]
        inside = [each for each in pulls if each.band and lands(self._sheet.strips[each.number].settled, each.band)]
        told = [f"(in truth {len(inside)} of {len(pulls)} pulls hold inside their band)"]
        if not self.mistakes:
            return [*told, "(no mistakes)"]
        return [*told, f"(mistakes: {len(self.mistakes)})", *(f"(  {each})" for each in self.mistakes)]

    # What the learner said, beside what the tape showed.

    def _watch(self, before: State, after: State) -> None:
        pull = before.pull
        assert pull is not None
        was, now = before.record, after.records[before.at]
        where = f"pull {pull.number}:"
        if after.misses.nomatch > before.misses.nomatch:
            self.mistakes.append(f"{where} not understood; 'what can I say' tells what is")
        if len(now.readings) > len(was.readings):
            self._compare(where, "moved", now.readings[-1].moved, after)
        if now.hold is not None and now.hold != was.hold:
            self._compare(where, "held", now.hold.moved, after)
        if now.hooked and not was.hooked:
            self._hook(where, before, pull)
        if now.skipped and not was.skipped:
            self.mistakes.append(f"{where} left out; only where no carpet can be pulled")
        refused = before.proposed if isinstance(before.proposed, ev.PullReopened) and after.proposed is None else None
        if refused is not None and after.records[refused.number - 1].hold is not None:
            self.mistakes.append(f"pull {refused.number}: short after hooking and left so; say yes and pull it again")

    def _compare(self, where: str, what: str, said: Length, state: State) -> None:
        told = tape(said, state.tape)
        if self.shown is None:
            self.mistakes.append(f"{where} you said {told} after the head had slipped; say 'it slipped'")
        elif said != self.shown:
            self.mistakes.append(f"{where} you said {told}; the tape showed {tape(self.shown, state.tape)}")

    def _hook(self, where: str, before: State, pull: Pull) -> None:
        assert self._sheet is not None
        if self.shown is not None:
            move = before.move_at(self.shown)
            if move is not None and not move.hooks:
                self.mistakes.append(f"{where} hooked at {tape(self.shown, before.tape)}; right was '{move.value}'")
        self._sheet.hook(pull.number)
        self._pulled.add(pull.number)

    # What the hands do next.

    def _hold(self, state: State) -> list[str]:
        assert self._sheet is not None
        assert state.pull is not None
        if self._at != state.pull.number:
            self._catch_up(state)
        strip = self._sheet.strips[state.pull.number]
        if strip.loss is None:
            self._sheet.hook(state.pull.number)
        self.shown = self._sheet.tape(state.pull.number)
        return [f"(hooked, the mark stands at {tape(self.shown, state.tape)})"]

    def _pull(self, before: State, after: State, pull: Pull) -> list[str]:
        was, now = before.records[after.at] if after.at < len(before.records) else None, after.record
        if self._at != pull.number or (now.slipped and (was is None or not was.slipped)):
            if self._at != pull.number and now.readings and not now.slipped:
                return self._catch_up(after)
            self._at = pull.number
            return self._bite("you take a bite")
        if was is not None and len(now.readings) > len(was.readings):
            match after.move_at(now.readings[-1].moved):
                case Move.BITE | Move.BITE_MORE | Move.BITE_OVER:
                    return self._bite("you take another bite")
                case Move.EASE:
                    return self._eased(pull)
        return []

    def _catch_up(self, state: State) -> list[str]:
        """A resumed job: the pull stands where it was left."""
        assert self._sheet is not None
        assert state.pull is not None
        self._at = state.pull.number
        wanted = state.record.reading
        for _ in range(MOST_CATCHING_UP):
            if wanted is None or self._sheet.strips[self._at].moved >= float(wanted.inches):
                break
            self._sheet.bite(self._at)
        self.shown = self._sheet.tape(self._at)
        return [f"(the mark stands at {tape(self.shown, state.tape)})"]

    def _bite(self, what: str) -> list[str]:
        assert self._sheet is not None
        if self._sheet.bite(self._at):
            self.shown = None
            return [f"({what}: the head slips, the carpet goes back)"]
        return self._look(what)

    def _eased(self, pull: Pull) -> list[str]:
        assert self._sheet is not None
        self._sheet.ease(pull.number)
        return self._look("you ease off")

    def _look(self, what: str) -> list[str]:
        assert self._sheet is not None
        self.shown = self._sheet.tape(self._at)
        return [f"({what}: the mark has moved {tape(self.shown, self._sheet.plan.job.room.system)})"]
