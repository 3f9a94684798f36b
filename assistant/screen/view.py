"""State of a session -> panel. Pure: no Textual, no file, no clock."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from assistant.core.asks import Ask, next_ask
from assistant.core.length import Length, System
from assistant.core.line import Line
from assistant.core.state import State
from assistant.cues import Cue
from assistant.screen import offer_view, pull_view
from assistant.screen.choices import hint, taps, title
from assistant.screen.panel import Content, Panel, Place
from assistant.screen.room_picture import picture_room
from assistant.wording import Wording, shown, word


@dataclass(frozen=True)
class Exchange:
    """The last utterance and what was answered to it."""

    turn: int = 0
    heard: str = ""
    understood: bool = True
    answers: Sequence[Wording] = ()
    """All that was said and shown, the question that followed included."""
    code: str = ""
    """The job code, where the job was just closed."""
    cue: Cue | None = None
    """What it sounded like."""


def panel_of(state: State, last: Exchange | None = None) -> Panel:
    """What is to be seen of `state` after the exchange `last`."""
    ask, last = next_ask(state), last or Exchange()
    asked = tuple(word(each, state.tape) for each in ask.lines) if ask else ()
    told = tuple(last.answers)
    if asked and told[-len(asked) :] == asked:
        told = told[: -len(asked)]
    content = _content(state, ask, last)
    tapped = None if ask is None else taps(ask.grammar)
    return Panel(
        turn=last.turn,
        ask="" if ask is None else ask.grammar,
        question=" ".join(each.show for each in asked),
        content=content,
        target=pull_view.target(state),
        last=pull_view.last(state),
        place=_place(state),
        room=picture_room(state),
        heard=last.heard,
        understood=last.understood,
        answers=tuple(each.show for each in told if each.say),
        notes=tuple(each.show for each in told if not each.say),
        misses=max(state.misses.worst, 2 * bool(state.misses.help)),
        keys=offer_view.keys(
            () if state.paused else state.offered, tuple(each.on(state.system) for each in tapped.keys)
        )
        if tapped
        else (),
        listed=tuple(each.on(state.system) for each in tapped.listed) if tapped else (),
        pads=tuple(each.on(state.system) for each in tapped.pads) if tapped else (),
        code=last.code,
        cue=last.cue,
    )


def _content(state: State, ask: Ask | None, last: Exchange) -> Content:
    if ask is None:
        return Content("Job closed", "Done", beside="Note down the code" if last.code else "")
    if state.offered and not state.paused:
        return offer_view.content(state.offered, title(ask.lines[-1].key), hint(ask.lines[-1].key))
    if ask.grammar in ("pull", "hold") and state.pull is not None:
        return pull_view.content(state, state.pull)
    if ask.grammar == "confirm":
        return _confirm(ask, state.tape)
    key = next((each for each in reversed(ask.lines) if title(each.key)), ask.lines[-1])
    return Content("", title(key.key).format_map(dict(key.values)), beside=hint(key.key) or _told(state))


def _told(state: State) -> str:
    """Before a pass: what is pulled next."""
    here = state.present_pass
    return "" if here is None else f"{len(here.pulls)} pulls to {here.pulls[0].wall.value} wall"


def _confirm(ask: Ask, system: System) -> Content:
    """The figures that wait for a yes, large, and beside them what they are."""
    parts = [_parted(each, system) for each in ask.lines if each.key not in ("digits", "yes_or_no")]
    figures = [figure for figure, _ in parts if figure]
    named = next((rest for _, rest in parts if rest), "")
    if not figures:
        first = ask.lines[0]
        return Content("Yes or no?", title(first.key).format_map(dict(first.values)) or named)
    between = " x " if len(figures) == len(parts) == 2 else " - "
    return Content("Yes or no?", between.join(figures), beside=named)


def _parted(each: Line, system: System) -> tuple[str, str]:
    """A line's figures as shown, and the words around them."""
    text = word(each, system).show.replace("Yes or no?", "").strip()
    told = (shown(value, system) for _, value in each.values if isinstance(value, Length | Fraction))
    figures = [figure for figure in told if figure in text]
    if not figures:
        return "", text.rstrip(".")
    start, end = text.find(figures[0]), text.rfind(figures[-1]) + len(figures[-1])
    return text[start:end], " ".join((text[:start] + text[end:]).split()).strip(" ,.")


def _place(state: State) -> Place:
    here, pull = state.present_pass, state.pull
    if state.plan is None or here is None or pull is None:
        return Place(state.job, left=state.left)
    several = state.room is not None and state.room.outline is not None
    wall = f"wall {pull.wall_number}" if several else f"{pull.wall.value} wall"
    return Place(state.job, here.number, len(state.plan.passes), pull.number, len(state.plan.pulls), state.left, wall)
