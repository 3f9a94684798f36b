"""A pull as it is seen: the target before the first reading, then the reading, its verdict and what to do."""

from collections.abc import Sequence

from assistant.core import advice
from assistant.core.advice import Losses, Move
from assistant.core.band import Band, Verdict, as_judged, judge, percent
from assistant.core.length import Length, tape
from assistant.core.plan import Pull
from assistant.core.state import State
from assistant.screen.badge import Badge, badge
from assistant.screen.panel import Content
from assistant.wording import shown


def content(state: State, pull: Pull) -> Content:
    """The large part of the panel at a pull."""
    if state.record.hold_due:
        return Content(f"Pull {pull.number} hooked", "Holds?", beside=f"was {_tape(state, state.record.reading)}")
    moved = state.record.reading
    if moved is None or state.record.slipped:
        return _called(state, pull)
    if pull.band is None:
        share = f"{shown(round(percent(moved, pull.stretched), 2), state.tape)} %"
        return Content(f"Pull {pull.number} moved", _tape(state, moved), badge(Verdict.NONE, share))
    return Content(_do(state, pull.band, moved), _tape(state, moved), _badge(state, pull.band, moved))


def _called(state: State, pull: Pull) -> Content:
    """Before the first reading: how far it should move, and where the head goes."""
    position = f"Position {tape(pull.called_position, state.tape)}"
    if pull.band is None:
        return Content(
            "What one part moved" if pull.parts > 1 else "Say what it moved", f"Pull {pull.number}", beside=position
        )
    target = advice.target(pull.band, state.own_loss, state.tape.graduation)
    aim = "aim for" if target > pull.band.tape_least else "at least"
    named = "Each part" if pull.parts > 1 else f"Pull {pull.number}"
    return Content(f"{named} {aim}", tape(target, state.tape), beside=position)


def _do(state: State, band: Band, moved: Length) -> str:
    match state.move_at(moved):
        case Move.BITE:
            bites = advice.bites_missing(state.record, advice.missing(moved, band))
            return "Another bite" if bites is None or bites == 1 else f"{bites} more bites"
        case Move.BITE_MORE | Move.BITE_OVER:
            return "One more bite"
        case Move.EASE:
            return "Ease off"
        case _:
            return "Hook it"


def _badge(state: State, band: Band, moved: Length) -> Badge:
    verdict, step = judge(moved, band), state.tape.graduation
    match verdict:
        case Verdict.SHORT:
            return badge(verdict, tape(advice.missing(moved, band).up_to(step), state.tape))
        case Verdict.OVER:
            return badge(verdict, tape((moved - (band.tape_most or band.tape_least)).up_to(step), state.tape))
        case _:
            return badge(verdict)


def target(state: State) -> str:
    """What the present pull should move; '' where nothing is asked for."""
    pull = state.pull
    band = None if pull is None else pull.band
    if pull is None or band is None:
        return ""
    most = "" if band.tape_most is None else f", most {tape(band.tape_most, state.tape)}"
    each = f", each of {pull.parts} parts" if pull.parts > 1 else ""
    return f"least {tape(band.tape_least, state.tape)}{most}{each}"


def last(state: State) -> str:
    """The readings at this pull; before the first, what became of the pull before."""
    if state.plan is None or state.pull is None:
        return ""
    if state.record.readings:
        return "read " + ", ".join(tape(each.moved, state.tape) for each in state.record.readings[-3:])
    return "" if state.at == 0 else _became(state, state.plan.pulls, state.at - 1)


def _became(state: State, pulls: Sequence[Pull], at: int) -> str:
    pull, record = pulls[at], state.records[at]
    if record.skipped:
        return f"pull {pull.number} skipped"
    found = advice.outcome(pull, record, Losses(pulls, state.records))
    if found is None:
        return ""
    how = "holds" if found.measured else "about"
    mark, moved = badge(found.verdict), as_judged(found.moved, pull.band, state.tape)
    return f"pull {pull.number} {how} {tape(moved, state.tape)} {mark.sign} {mark.word}"


def _tape(state: State, moved: Length | None) -> str:
    return "" if moved is None else tape(moved, state.tape)
