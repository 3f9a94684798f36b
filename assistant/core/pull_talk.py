"""Answers at a pull: head distance, readings, hooking, hold readings, skips."""

from collections.abc import Sequence
from fractions import Fraction
from math import ceil

from assistant.core import advice, plausible, trade
from assistant.core import events as ev
from assistant.core.advice import Move, Outcome
from assistant.core.asks import in_digits
from assistant.core.band import Verdict, judge, percent
from assistant.core.fold import apply, hold_due
from assistant.core.length import Length, inches
from assistant.core.line import Line, line
from assistant.core.meaning import Meaning
from assistant.core.neighbours import jumps
from assistant.core.plan import Pull
from assistant.core.state import State
from assistant.core.turn import Turn, propose, refuse, unless


def head(state: State, said: Meaning) -> Turn:
    """How far the head stands from the wall."""
    pull, quantity = state.pull, said.quantities[0]
    if pull is None or state.system is None:
        return Turn()
    distance = Length.of(quantity)
    event = ev.HeadSet(distance)
    far, most = distance > inches(trade.HEAD_FROM_WALL_WARN.value), inches(trade.HEAD_FROM_WALL_MOST.value)
    read_back = (line("head_set", distance=distance), *in_digits(state.system, distance))
    answer = (*read_back, *((line("head_too_far", most=most.down_to(state.system.graduation)),) if far else ()))
    return unless(plausible.head(quantity, state.system), event, Turn((event,), answer))


def reading(state: State, said: Meaning) -> Turn:
    """How far the mark has moved: read back, judged, and it stands unless undone."""
    pull, quantity = state.pull, said.quantities[0]
    if pull is None or state.system is None:
        return Turn()
    event = ev.ReadingTaken(Length.of(quantity), said.manner)
    doubt = plausible.reading(quantity, state.system, pull, state.record)
    return unless(doubt, event, Turn((event,), reading_lines(apply(state, event))))


def reading_lines(state: State) -> tuple[Line, ...]:
    """Read-back and verdict of the last reading."""
    pull, moved = state.pull, state.record.reading
    if pull is None or moved is None or state.system is None:
        return ()
    manner = state.record.readings[-1].manner
    said = line("read_back_manner", moved=moved, manner=manner) if manner else line("read_back", moved=moved)
    return said, *in_digits(state.system, moved), _verdict(state, pull, moved)


def _verdict(state: State, pull: Pull, moved: Length) -> Line:
    band, step = pull.band, state.tape.graduation
    if band is None:
        return line("no_verdict", percent=round(percent(moved, pull.stretched), 2))
    match state.move_at(moved):
        case Move.BITE:
            return _short(state, advice.missing(moved, band))
        case Move.EASE:
            return line("over", over=(moved - (band.tape_most or band.tape_least)).up_to(step))
        case Move.BITE_MORE:
            return line("in_band_thin")
        case Move.BITE_OVER:
            return line("over_thin")
        case Move.HOOK_OVER:
            return line("over_holds")
        case Move.HOOK_NEAREST:
            return line("over_nearest")
        case _:  # Move.HOOK
            return line("in_band")


def _short(state: State, missing: Length) -> Line:
    bites, told = advice.bites_missing(state.record, missing), missing.up_to(state.tape.graduation)
    if bites is None:
        return line("short", missing=told)
    if bites == 1:
        return line("short_one_bite", missing=told)
    return line("short_bites", missing=told, bites=bites)


def slipped(state: State, said: Meaning) -> Turn:
    """The head slipped; the next reading may be smaller."""
    return Turn((ev.Slipped(),), (line("slip_noted"),))


def hooked(state: State, said: Meaning) -> Turn:
    """On the pins; a pull that reads short needs an explicit yes."""
    pull, moved = state.pull, state.record.reading
    if pull is None:
        return Turn()
    if moved is None or state.record.slipped:
        return refuse("hooked_without_reading")
    if judge(moved, pull.band) is Verdict.SHORT:
        return propose(_on_the_pins(state), "doubt_hooked_short")
    event = _on_the_pins(state)
    return Turn((event,), (line("hooked"), *_unevenness(state, apply(state, event))))


def _on_the_pins(state: State) -> ev.Hooked:
    """Whether to measure is decided now and kept: a later rule must not change what this log means."""
    return ev.Hooked(measure=hold_due(state, advice.guarded(state.own_loss)))


def hold(state: State, said: Meaning) -> Turn:
    """The measurement after hooking: the final verdict."""
    quantity = said.quantities[0]
    if state.pull is None or state.system is None:
        return Turn()
    event = ev.HoldTaken(Length.of(quantity), said.manner)
    return unless(plausible.hold(quantity, state.system, state.record), event, held(state, event))


def held(state: State, event: ev.HoldTaken) -> Turn:
    """A hold reading that stands; a short one offers to pull again."""
    pull, moved = state.pull, event.moved
    if pull is None or moved is None or state.system is None:
        return Turn((event,))
    verdict = judge(moved, pull.band)
    said = line("holds_manner", moved=moved, manner=event.manner) if event.manner else line("holds", moved=moved)
    lines = (said, *in_digits(state.system, moved), line(f"hold_{verdict.name.lower()}"))
    if verdict is Verdict.SHORT:
        return Turn((event, ev.Proposed(ev.PullReopened(pull.number), "pull_again")), lines)
    return Turn((event,), (*lines, *_unevenness(state, apply(state, event))))


def left_short(state: State) -> tuple[Line, ...]:
    """Cautions about the pull that was to be made again, and is not."""
    asked = state.proposed
    return _unevenness(apply(state, asked), state) if isinstance(asked, ev.PullReopened) else ()


def _unevenness(before: State, after: State) -> tuple[Line, ...]:
    """Cautions for jumps, and for a drift, that the pull just finished has brought."""
    if after.plan is None or before.pull is None or after.at == before.at:
        return ()
    outcomes = advice.outcomes(after.plan.pulls, after.records)
    pairs = list(zip(after.plan.pulls, outcomes, strict=True))
    found = [each for each in jumps(pairs) if before.pull in (each.first, each.second)]
    uneven = tuple(line("uneven", first=each.first.number, second=each.second.number) for each in found[:1])
    return uneven + _drifting(before, after, outcomes)


_DRIFTS = {"stretch": "drift_stretch", "fall-back": "drift_fall_back"}


def _drifting(before: State, after: State, outcomes: Sequence[Outcome | None]) -> tuple[Line, ...]:
    """A caution for a drift along the pass, once: when it first shows. `outcomes` are those after."""
    here, plan = before.present_pass, before.plan
    assert here is not None and plan is not None, "it was a pull that was just finished"
    was = advice.drifts([here], before.records, advice.outcomes(plan.pulls, before.records))
    now = advice.drifts([here], after.records, outcomes)
    known = {each.what for each in was}
    new = [each for each in now if each.what not in known]
    # Rounded up, as the report does: it is over the setting, and must not read as being at it.
    return tuple(line(_DRIFTS[each.what], points=Fraction(ceil(abs(each.points) * 100), 100)) for each in new[:1])


def skip(state: State, said: Meaning) -> Turn:
    """The pull, or its hold reading, is left out."""
    if state.record.hold_due:
        event = ev.HoldTaken(None, "")
        return Turn((event,), (line("hold_skipped"), *_unevenness(state, apply(state, event))))
    if not said.word:
        return Turn((ev.SkipAsked(),))
    return reason(state, said)


def reason(state: State, said: Meaning) -> Turn:
    """Why the pull is left out."""
    if state.pull is None:
        return Turn()
    told = line("pull_skipped", number=state.pull.number, reason=said.word.replace("_", " "))
    return Turn((ev.PullSkipped(said.word),), (told,))


def note(state: State, said: Meaning) -> Turn:
    """Wrinkle, seam, loose or damage at the present pull, or at the one that is asked about."""
    asked = state.proposed
    if isinstance(asked, ev.PullReopened):
        event = ev.NoteMade(said.word, asked.number)
        return Turn((event,), (line("note_made", note=said.word, number=asked.number),))
    if state.pull is None:
        return Turn(lines=(line("nothing_to_note"),))
    return Turn((ev.NoteMade(said.word),), (line("note_made", note=said.word, number=state.pull.number),))


def back(state: State, said: Meaning) -> Turn:
    """To the pull before the present one: it is pulled again."""
    if state.plan is None or state.at == 0:
        return Turn(lines=(line("nothing_before"),))
    return Turn((ev.PullReopened(state.at),), (line("back_at", number=state.at),))
