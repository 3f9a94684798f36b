"""The session: what was heard at the present ask -> a turn. It returns what is to happen; it does nothing itself."""

from collections.abc import Callable
from dataclasses import replace

from assistant.core import condition_talk, opening_talk, pull_talk, room_talk, setup_talk, trade
from assistant.core import events as ev
from assistant.core.asks import in_digits, next_ask
from assistant.core.fold import apply
from assistant.core.length import Length, System
from assistant.core.line import Line, line
from assistant.core.meaning import Meaning
from assistant.core.state import State
from assistant.core.tube_talk import about_tubes, describe
from assistant.core.turn import Turn

Act = Callable[[State, Meaning], Turn]

MOST_MISSES = 3
"""At the third miss the asking stops; there is never a fourth re-ask."""


def respond(state: State, said: Meaning) -> Turn:
    """The turn an understood utterance leads to. Raises KeyError for an act no grammar has."""
    return _ACTS[said.act](state, said)


def missed(state: State, kind: str) -> Turn:
    """Nothing said ('noinput') or nothing understood ('nomatch')."""
    event = ev.Missed(kind)
    misses = apply(state, event).misses
    silent = kind == "noinput"
    count = misses.noinput if silent else misses.nomatch
    if count == 1:
        return Turn((event,), (line(kind), *_once_more(state)) if silent else (line(kind),))
    if count < MOST_MISSES:
        return Turn((event,), (_options(state),))
    last = line("asks_no_more" if silent else "cannot_follow")
    return Turn((event,), (last,) if count == MOST_MISSES else ())


def asks_in_silence(state: State) -> bool:
    """Is silence at the present question still worth asking again for?"""
    return state.misses.noinput < MOST_MISSES


def _once_more(state: State) -> tuple[Line, ...]:
    """The present question at its shortest; said after a silence, where the whole of it may have been missed."""
    ask = next_ask(state)
    return (ask.shortest,) if ask else ()


def _options(state: State) -> Line:
    ask = next_ask(state)
    if ask is None:
        return line("job_closed")
    metres = state.system is System.METRIC and ask.grammar in _ON_THE_TAPE
    return line(f"options_{ask.grammar}{'_in_metres' if metres else ''}")


_ON_THE_TAPE = ("size", "wall", "square", "openings", "pull", "hold")
"""Asks for lengths: on the other tape than the room's they would be refused."""


def _choose(state: State, said: Meaning) -> Turn:
    return _chosen(state, _PLACES.index(said.word))


_PLACES = ("neither", "first", "second")


def _chosen(state: State, number: int) -> Turn:
    """What follows once it is known which of those offered was said; 0 = neither."""
    act = _ACTS.get(state.offered[number - 1].meaning.act) if 0 < number <= len(state.offered) else None
    if act is None:
        return Turn((ev.Chosen(0),), (line("rejected"),), ask_again=True)
    turn = act(apply(state, ev.Chosen(number)), state.offered[number - 1].meaning)
    return replace(turn, events=(ev.Chosen(number), *turn.events))


def _yes(state: State, said: Meaning) -> Turn:
    if state.offered:
        return _chosen(state, 1 if len(state.offered) == 1 else 0)
    if state.proposed is None:
        return Turn()
    turn = _settled(state, state.proposed)
    return Turn((ev.Confirmed(), *turn.events), turn.lines)


def _settled(state: State, event: ev.Event) -> Turn:
    """What follows once the proposed `event` stands."""
    match event:
        case ev.ReadingTaken():
            return Turn(lines=pull_talk.reading_lines(apply(state, ev.Confirmed())))
        case ev.HoldTaken():
            turn = pull_talk.held(apply(state, ev.Rejected()), event)
            return Turn(turn.events[1:], turn.lines)
        case ev.FigureSet():
            return Turn(lines=(line("confirmed"), *setup_talk.with_pattern(state, event)))
        case ev.Hooked():
            return Turn(lines=(line("hooked_short"),))
        case ev.PullReopened(number=number):
            return Turn(lines=(line("back_at", number=number),))
        case _:
            return Turn(lines=(line("confirmed"),))


def _no(state: State, said: Meaning) -> Turn:
    if state.offered:
        return _chosen(state, 0)
    return Turn((ev.Rejected(),), (line("rejected"), *pull_talk.left_short(state)), ask_again=True)


def _undo(state: State, said: Meaning) -> Turn:
    again = isinstance(state.proposed, ev.PullReopened) and not state.offered
    if not again and (state.proposed is not None or state.asking_reason or state.offered):
        return _no(state, said)
    if state.before is None:
        return Turn(lines=(line("nothing_to_undo"),))
    return Turn((ev.Scratched(), *_asked_again(state, state.before)), (line("scratched"),), ask_again=True)


def _asked_again(state: State, before: State) -> tuple[ev.Event, ...]:
    """Is the pull made again? Asked anew where a note or a 'go back' is scratched that was said to that question."""
    asked = before.proposed
    stands = isinstance(asked, ev.PullReopened) and (state.proposed == asked or state.at != before.at)
    return (ev.Proposed(asked, before.why),) if asked is not None and stands else ()


def _cancel(state: State, said: Meaning) -> Turn:
    if state.proposed is not None or state.asking_reason or state.offered:
        return _no(state, said)
    return Turn(lines=(line("nothing_to_cancel"),))


def _skip(state: State, said: Meaning) -> Turn:
    if state.plan is not None:
        return pull_talk.skip(state, said)
    return room_talk.skip(state) if state.room_waiting in ("square", "openings") else condition_talk.skip(state)


def _repeat(state: State, said: Meaning) -> Turn:
    ask = next_ask(state)
    lines = [each for each in ask.lines if not about_tubes(each)] if ask else []
    lengths = [value for each in lines for _, value in each.values if isinstance(value, Length)]
    return Turn(lines=in_digits(state.tape, *lengths[:2], always=True), ask_again=True)


def _help(state: State, said: Meaning) -> Turn:
    return Turn((ev.Missed("help"),), (_options(state),))


def _left(state: State, said: Meaning) -> Turn:
    if state.plan is None:
        return Turn(lines=(line("no_plan_yet"),))
    return Turn(lines=(line("left", count=state.left),))


def _where(state: State, said: Meaning) -> Turn:
    here, pull = state.present_pass, state.pull
    if here is None or pull is None:
        return replace(_left(state, said), ask_again=True)
    if state.outline is not None:
        return Turn(lines=(line("where_outlined", number=pull.number, wall=pull.wall_number),), ask_again=True)
    return Turn(lines=(line("where", number=pull.number, wall=pull.wall.value),), ask_again=True)


def _tubes(state: State, said: Meaning) -> Turn:
    if state.pull is None:
        return _left(state, said)
    return Turn(lines=describe(state.pull.build, state.tape))


def _pause(state: State, said: Meaning) -> Turn:
    return Turn((ev.Paused(),))


def _resume(state: State, said: Meaning) -> Turn:
    return Turn((ev.Resumed(),), ask_again=True)


def _voice(state: State, said: Meaning) -> Turn:
    further = state.tone.changed(said.act) != state.tone
    return Turn((ev.VoiceChanged(said.act),), (line(said.act if further else "no_further"),))


def _finish(state: State, said: Meaning) -> Turn:
    return Turn((ev.JobFinished(),), (line("climate_after", hours=int(trade.CLIMATE_AFTER.value)), line("job_closed")))


_ACTS: dict[str, Act] = {
    "yes": _yes,
    "no": _no,
    "choose": _choose,
    "undo": _undo,
    "cancel": _cancel,
    "skip": _skip,
    "repeat": _repeat,
    "help": _help,
    "left": _left,
    "where": _where,
    "tubes": _tubes,
    "pause": _pause,
    "resume": _resume,
    "louder": _voice,
    "quieter": _voice,
    "slower": _voice,
    "faster": _voice,
    "finish": _finish,
    "job": setup_talk.job,
    "construction": setup_talk.construction,
    "figure": setup_talk.figure,
    "no_figure": setup_talk.no_figure,
    "same_figure": setup_talk.same_figure,
    "pattern": setup_talk.pattern,
    "temperature": condition_talk.condition,
    "humidity": condition_talk.condition,
    "unrolled": condition_talk.condition,
    "cushion": condition_talk.condition,
    "gully": condition_talk.condition,
    "slab_humidity": condition_talk.condition,
    "slab_ph": condition_talk.condition,
    "no_cushion": condition_talk.worded,
    "strip": condition_talk.worded,
    "no_slab": condition_talk.worded,
    "skip_rest": condition_talk.skip_rest,
    "size": setup_talk.size,
    "outline": room_talk.begin,
    "wall": room_talk.wall,
    "rewall": room_talk.rewall,
    "close_room": room_talk.close_room,
    "square": room_talk.square,
    "second_side": room_talk.second_side,
    "diagonal": room_talk.diagonal,
    "square_done": room_talk.square_done,
    "doorway": opening_talk.doorway,
    "hearth": opening_talk.hearth,
    "openings_done": room_talk.openings_done,
    "corner": setup_talk.corner,
    "lay": setup_talk.lay,
    "ready": setup_talk.ready,
    "head": pull_talk.head,
    "reading": pull_talk.reading,
    "slipped": pull_talk.slipped,
    "hooked": pull_talk.hooked,
    "hold": pull_talk.hold,
    "reason": pull_talk.reason,
    "note": pull_talk.note,
    "back": pull_talk.back,
}
