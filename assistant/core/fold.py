"""Events -> state. Pure and total: every event of any age folds, unknown ones change nothing."""

from collections.abc import Callable, Iterable
from dataclasses import fields, replace
from fractions import Fraction
from typing import Any

from assistant.core import events as ev
from assistant.core.advice import FallBack, fall_back, hold_is_due
from assistant.core.band import figure_for
from assistant.core.conditions import Noted
from assistant.core.floor import FloorError
from assistant.core.order import Direction
from assistant.core.outline import Leg, OutlineError
from assistant.core.plan import Figures, Job, make_plan
from assistant.core.record import PullRecord, Reading, Status
from assistant.core.room import Axis
from assistant.core.standing import Standing
from assistant.core.state import Misses, State
from assistant.core.traverse import close


def fold(events: Iterable[ev.Event], state: State | None = None) -> State:
    """The state after `events`, from nothing or from `state`."""
    state = State() if state is None else state
    for event in events:
        state = apply(state, event)
    return state


def apply(state: State, event: ev.Event) -> State:
    """The state after one more event."""
    change = _CHANGES.get(type(event))
    if change is not None:
        changed: State = change(_caught_up(state, event), event)
        return changed.after(state)
    aside = _ASIDES.get(type(event))
    return state if aside is None else aside(state, event)


def _caught_up(state: State, event: ev.Event) -> State:
    """Logs of versions that asked for hold readings by another rule: what was asked then is what the log shows."""
    if state.record.hold_due and isinstance(event, _GOES_ON):
        return _onward(state.with_record(replace(state.record, hold_due=False)))
    if isinstance(event, ev.HoldTaken) and not state.record.hold_due:
        hooked = (at for at in range(state.at - 1, -1, -1) if state.records[at].hooked)
        return replace(state, at=next(hooked, state.at))
    return state


_GOES_ON = (ev.PassBegun, ev.HeadSet, ev.ReadingTaken, ev.Slipped, ev.Hooked, ev.PullSkipped, ev.JobFinished)
"""What no session takes while it asks for a hold reading: that pull was done with."""


# Changes of the job: each can be undone by 'scratch that'.


def _job(state: State, event: ev.JobNamed) -> State:
    return replace(state, job=event.digits)


def _construction(state: State, event: ev.ConstructionChosen) -> State:
    return replace(state, construction=event.construction)


def _figure(state: State, event: ev.FigureSet) -> State:
    return replace(state, maker={**state.maker, event.direction: event.figure})


def _pattern(state: State, event: ev.PatternSet) -> State:
    return replace(state, patterns={**state.patterns, event.direction: event.points})


def _condition(state: State, event: ev.ConditionNoted) -> State:
    return replace(state, conditions={**state.conditions, event.kind: Noted(event.quantity)})


def _condition_worded(state: State, event: ev.ConditionWorded) -> State:
    return replace(state, conditions={**state.conditions, event.kind: Noted(word=event.word)})


def _conditions_skipped(state: State, event: ev.ConditionsSkipped) -> State:
    return replace(state, conditions={**state.conditions, **dict.fromkeys(event.kinds, Noted())})


def _side(state: State, event: ev.SideSet) -> State:
    return replace(state, sides={**state.sides, event.axis: event.length}, system=event.system)


def _sides(state: State, event: ev.SidesSet) -> State:
    sides = {Axis.DOOR_TO_FAR: event.length, Axis.LEFT_TO_RIGHT: event.width}
    return replace(state, sides=sides, system=event.system)


def _outline_begun(state: State, event: ev.OutlineBegun) -> State:
    return replace(state, legs=(), outline=None, sides={}, system=None)


def _wall(state: State, event: ev.WallSet) -> State:
    legs = (*(state.legs or ()), Leg(event.length, event.turn))
    return replace(state, legs=legs, system=event.system)


def _wall_mended(state: State, event: ev.WallMended) -> State:
    legs, at = state.legs or (), event.wall - 1
    if not 0 <= at < len(legs):
        return state
    return replace(state, legs=(*legs[:at], replace(legs[at], length=event.length), *legs[at + 1 :]))


def _outline_closed(state: State, event: ev.OutlineClosed) -> State:
    try:
        return replace(state, outline=close(state.legs or (), state.closure)[0])
    except OutlineError:
        return state


def _second_side(state: State, event: ev.SecondSideSet) -> State:
    return replace(state, seconds={**state.seconds, event.wall: event.length})


def _diagonal(state: State, event: ev.DiagonalSet) -> State:
    return replace(state, diagonal=event.length)


def _square_settled(state: State, event: ev.SquareSettled) -> State:
    return replace(state, squared=event.how)


def _opening(state: State, event: ev.OpeningSet) -> State:
    more = replace(state, openings=(*state.openings, event.opening))
    try:
        return more if more.room is not None and more.room.floor else state
    except (FloorError, OutlineError):
        return state


def _openings_settled(state: State, event: ev.OpeningsSettled) -> State:
    return replace(state, openings_settled=event.how)


def _corner(state: State, event: ev.CornerChosen) -> State:
    return replace(state, corner=event.corner)


def _lay(state: State, event: ev.LayChosen) -> State:
    room, corner, order, construction = state.room, state.corner, state.order, state.construction
    if room is None or corner is None or order is None or construction is None:
        return state
    patterns = {each: state.patterns.get(each, Fraction(0)) for each in Direction}
    figures = Figures({each: figure_for(construction, state.maker.get(each), patterns[each]) for each in Direction})
    plan = make_plan(Job(room, corner, event.axis, figures, order, state.head, state.kit, state.distance))
    # Before plans had a fingerprint none was worked in parts.
    before_parts = not event.plan and any(each.parts > 1 for each in plan.pulls)
    otherwise = before_parts or event.plan not in ("", plan.fingerprint)
    fresh = replace(state, plan=plan, otherwise=otherwise, at=0, begun=0, standing=Standing())
    return replace(fresh, records=(PullRecord(),) * len(plan.pulls))


def _begun(state: State, event: ev.PassBegun) -> State:
    return replace(state, begun=event.number, standing=replace(state.standing, turned=event.number))


def _head(state: State, event: ev.HeadSet) -> State:
    return state.with_record(replace(state.record, heads=(*state.record.heads, event.distance)))


def _reading(state: State, event: ev.ReadingTaken) -> State:
    record = state.record
    reading = Reading(event.moved, event.manner, fresh=record.slipped)
    return state.with_record(replace(record, readings=(*record.readings, reading), slipped=False))


def _slipped(state: State, event: ev.Slipped) -> State:
    return state.with_record(replace(state.record, slipped=True))


def _hooked(state: State, event: ev.Hooked) -> State:
    due = _first_rule(state) if event.measure is None else event.measure
    hooked = state.with_record(replace(state.record, hooked=True))
    standing = _left_standing(hooked)  # not when it is measured: others may have been called out meanwhile
    return _onward(replace(hooked.with_record(replace(hooked.record, hold_due=due)), standing=standing))


def _hold(state: State, event: ev.HoldTaken) -> State:
    hold = None if event.moved is None else Reading(event.moved, event.manner)
    measured = state.with_record(replace(state.record, hold=hold, hold_due=False))
    return replace(_onward(measured), standing=state.standing)


def _skipped(state: State, event: ev.PullSkipped) -> State:
    record = replace(state.record, skipped=event.reason)
    return _onward(replace(state.with_record(record), asking_reason=False))


def _reopened(state: State, event: ev.PullReopened) -> State:
    if not 1 <= event.number <= len(state.records):
        return state
    # What was asked at the pull left behind must not settle at this one.
    standing = _left_standing(state)
    state = replace(state, at=event.number - 1, standing=standing, proposed=None, why="", asking_reason=False)
    record = replace(state.record, lost=state.record.losses, hooked=False, hold_due=False, hold=None, skipped="")
    return state.with_record(replace(record, slipped=True))


def _note(state: State, event: ev.NoteMade) -> State:
    if not 0 <= event.pull <= len(state.records):
        return state
    there = replace(state, at=event.pull - 1) if event.pull else state
    noted = there.with_record(replace(there.record, notes=(*there.record.notes, event.kind)))
    return noted if there is state else replace(noted, at=state.at)


def _finished(state: State, event: ev.JobFinished) -> State:
    return replace(state, finished=True)


def _onward(state: State) -> State:
    """To the first pull that is still to come."""
    waiting = (i for i, each in enumerate(state.records) if each.status is Status.TO_COME)
    at = next(waiting, len(state.records))
    return state if at == state.at else replace(state, at=at, standing=_left_standing(state))


def _left_standing(state: State) -> Standing:
    """Where the stretcher stands as the present pull is left."""
    pull, here = state.pull, state.present_pass
    if pull is None or here is None or state.record.hold_due or _not_called(state):
        return state.standing
    if here.number > state.begun:
        return replace(state.standing, turned=here.number)
    return state.standing.called(pull, here.number, hooked=state.record.hooked)


def _not_called(state: State) -> bool:
    """Whether the pull before is made again is still asked: the present one was not called out."""
    return isinstance(state.proposed, ev.PullReopened)


def _first_rule(state: State) -> bool:
    """As before Hooked said it: by one estimate for the room, which forgot the hold readings of pulls made again."""
    return hold_due(state, fall_back(replace(each, lost=()) if each.lost else each for each in state.records))


def hold_due(state: State, loss: FallBack | None) -> bool:
    """Should the present pull be measured again after hooking, where hooking loses `loss`?"""
    pull, here = state.pull, state.present_pass
    if pull is None or here is None:
        return False
    first = here.pulls[0].number - 1
    place = state.at - first
    reading, band = state.record.reading, pull.band
    margin = None if reading is None or band is None else reading - band.least
    held = (i for i in range(state.at - 1, first - 1, -1) if state.records[i].hold is not None)
    since = place - 1 - (next(held, first - 1) - first)
    return hold_is_due(place, since, margin, loss)


_CHANGES: dict[type, Callable[[State, Any], State]] = {
    ev.JobNamed: _job,
    ev.ConstructionChosen: _construction,
    ev.FigureSet: _figure,
    ev.PatternSet: _pattern,
    ev.ConditionNoted: _condition,
    ev.ConditionWorded: _condition_worded,
    ev.ConditionsSkipped: _conditions_skipped,
    ev.SideSet: _side,
    ev.SidesSet: _sides,
    ev.OutlineBegun: _outline_begun,
    ev.WallSet: _wall,
    ev.WallMended: _wall_mended,
    ev.OutlineClosed: _outline_closed,
    ev.SecondSideSet: _second_side,
    ev.DiagonalSet: _diagonal,
    ev.SquareSettled: _square_settled,
    ev.OpeningSet: _opening,
    ev.OpeningsSettled: _openings_settled,
    ev.CornerChosen: _corner,
    ev.LayChosen: _lay,
    ev.PassBegun: _begun,
    ev.HeadSet: _head,
    ev.ReadingTaken: _reading,
    ev.Slipped: _slipped,
    ev.Hooked: _hooked,
    ev.HoldTaken: _hold,
    ev.PullSkipped: _skipped,
    ev.PullReopened: _reopened,
    ev.NoteMade: _note,
    ev.JobFinished: _finished,
}


# Asides: they steer the conversation and are no change of the job.


def _started(state: State, event: ev.Started) -> State:
    if state.order is not None:
        return replace(state, misses=Misses(), paused=False)
    set_up = replace(state, order=event.order, head=event.head, closure=event.closure)
    return replace(set_up, kit=event.kit, distance=event.distance)


_MISS_KINDS = {each.name for each in fields(Misses)}


def _missed(state: State, event: ev.Missed) -> State:
    misses = state.misses
    if event.kind not in _MISS_KINDS:
        return state
    return replace(state, misses=replace(misses, **{event.kind: getattr(misses, event.kind) + 1}))


def _skip_asked(state: State, event: ev.SkipAsked) -> State:
    return replace(state, asking_reason=True, offered=(), misses=Misses())


def _proposed(state: State, event: ev.Proposed) -> State:
    return replace(state, proposed=event.event, why=event.why, offered=(), misses=Misses())


def _offered(state: State, event: ev.Offered) -> State:
    return replace(state, offered=event.choices, misses=Misses())


def _chosen(state: State, event: ev.Chosen) -> State:
    return replace(state, offered=(), misses=Misses())


def _confirmed(state: State, event: ev.Confirmed) -> State:
    if state.proposed is None:
        return state
    changed = apply(_rejected(state, ev.Rejected()), state.proposed)
    # Whether a pull is made again can be asked anew: the way back leads to the question.
    return replace(changed, standing=state.standing, before=state) if _not_called(state) else changed


def _rejected(state: State, event: ev.Rejected) -> State:
    return replace(state, proposed=None, why="", asking_reason=False, offered=(), misses=Misses())


def _scratched(state: State, event: ev.Scratched) -> State:
    if state.before is None:
        return state
    settled = replace(state.before, proposed=None, why="", asking_reason=False, offered=())
    return replace(settled, standing=_scratched_standing(state, state.before), tone=state.tone, misses=Misses())


def _scratched_standing(state: State, before: State) -> Standing:
    """What was called out is not taken back with the change: its tubes may be in by now."""
    here = (state.at, state.begun) == (before.at, before.begun)
    now = state.standing if here else _left_standing(state)
    return now if now.build == before.standing.build else replace(now, build=None)


def _voice_changed(state: State, event: ev.VoiceChanged) -> State:
    return replace(state, tone=state.tone.changed(event.how))


def _paused(state: State, event: ev.Paused) -> State:
    return replace(state, paused=True, misses=Misses())


def _resumed(state: State, event: ev.Resumed) -> State:
    return replace(state, paused=False, misses=Misses())


_ASIDES: dict[type, Callable[[State, Any], State]] = {
    ev.Started: _started,
    ev.Missed: _missed,
    ev.SkipAsked: _skip_asked,
    ev.Proposed: _proposed,
    ev.Offered: _offered,
    ev.Chosen: _chosen,
    ev.Confirmed: _confirmed,
    ev.Rejected: _rejected,
    ev.Scratched: _scratched,
    ev.VoiceChanged: _voice_changed,
    ev.Paused: _paused,
    ev.Resumed: _resumed,
}
