"""What is made of an utterance that may have been another: asked about where it would stand, never guessed at."""

from assistant.core import events as ev
from assistant.core.asks import PLACES, next_ask
from assistant.core.meaning import Candidate
from assistant.core.session import missed, respond
from assistant.core.state import State
from assistant.core.turn import Turn

MOST_WORDS = 6
"""A longer sentence is not read out as a choice: it is said again sooner than it is listened to."""
_NEVER_AT = ("confirm", "choose", "paused")
"""Asks whose answers are a word or two: saying it again is shorter than a choice of choices."""
_STANDS = ("reading", "hold")
"""Acts whose figure stands at once and makes a verdict; sizes and figures have a yes to wait for, notes have none."""


def unsure(state: State, maybe: tuple[Candidate, ...]) -> Turn:
    """None of `maybe` (best first) is trusted: asked which it was; where that is no help, it is to be said again."""
    offered = tuple(each for each in maybe if len(each.text.split()) <= MOST_WORDS)[: len(PLACES)]
    ask = next_ask(state)
    if not offered or ask is None or ask.grammar in _NEVER_AT:
        return missed(state, "nomatch")
    if len(offered) == 1:
        turn = respond(state, offered[0].meaning)
        if _waits(turn):  # it will be asked about anyhow: one yes is enough
            return turn
    return Turn((ev.Offered(offered, "unsure"),))


def careful(state: State, said: Candidate, twins: tuple[Candidate, ...]) -> Turn:
    """`said` was heard for sure, but its `twins` sound like it: asked about where one of those would stand, too."""
    turn = respond(state, said.meaning)
    if said.meaning.act not in _STANDS or not (_stands(turn) or _waits(turn)):
        return turn
    alike = [each for each in twins if _stands(respond(state, each.meaning))]
    return Turn((ev.Offered((said, alike[0]), "alike"),)) if alike else turn


def _stands(turn: Turn) -> bool:
    return any(isinstance(each, ev.ReadingTaken | ev.HoldTaken) for each in turn.events)


def _waits(turn: Turn) -> bool:
    """Does it wait for an explicit yes, and has nothing else happened?"""
    return len(turn.events) == 1 and isinstance(turn.events[0], ev.Proposed)
