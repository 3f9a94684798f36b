"""Every event goes to a row and back; a row that is no event is refused by name."""

import json
from fractions import Fraction
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core import events as ev
from assistant.core.band import Construction, Figure
from assistant.core.kit import Kit, Tube
from assistant.core.layout import HeadRule
from assistant.core.length import Length, System, inches
from assistant.core.log_events import CarriedOn, ClockJumped, SoundKept
from assistant.core.meaning import Quantity
from assistant.core.order import Direction, Order, Part, PassRule
from assistant.core.room import Axis, Corner
from assistant.exits import Exit
from assistant.orders import read_order
from assistant.record.codec import BadRow, canonical, decode, encode, kind_of

KNOWN = [each for each in get_args(ev.Event) if each is not ev.Unknown]

texts = st.text(st.characters(), max_size=20)
fractions = st.fractions()
lengths = st.builds(Length, fractions)
quantities = st.builds(Quantity, fractions, texts)
figures = st.builds(Figure, fractions, st.none() | fractions, st.booleans())
rules = st.builds(PassRule, st.sampled_from(Direction), st.sampled_from(Part))
orders = st.builds(Order, texts, st.lists(rules, max_size=4).map(tuple))
kits = st.sampled_from([Kit(), Kit(tubes=(Tube(inches(18), 3), Tube(inches("9/2"), 1)), tail=inches("3/2"))])
heads = st.builds(HeadRule, lengths, lengths, lengths)
for kind, strategy in {
    Length: lengths,
    Fraction: fractions,
    Quantity: quantities,
    Figure: figures,
    Order: orders,
    Kit: kits,
    HeadRule: heads,
    float: st.floats(allow_nan=False, allow_infinity=False),
    str: texts,
}.items():
    st.register_type_strategy(kind, strategy)

objects = st.dictionaries(texts, st.integers() | texts | st.none(), max_size=3)
unknowns = st.builds(ev.Unknown, texts.map(lambda name: f"new {name}"), objects.map(canonical))
plain = st.one_of(*(st.from_type(each) for each in KNOWN if each is not ev.Proposed)) | unknowns
events = st.recursive(plain, lambda inner: st.builds(ev.Proposed, inner, texts), max_leaves=4)


@pytest.mark.parametrize("kind", KNOWN, ids=lambda each: each.__name__)
def test_every_kind_round_trips(kind: type) -> None:
    strategy = st.builds(ev.Proposed, events, texts) if kind is ev.Proposed else st.from_type(kind)

    @given(strategy)
    def round_trip(event: ev.Event) -> None:
        assert decode(*encode(event)) == event

    round_trip()


@given(events)
def test_any_event_round_trips_and_is_canonical(event: ev.Event) -> None:
    kind, payload = encode(event)
    assert decode(kind, payload) == event
    assert payload == canonical(json.loads(payload))
    assert payload.isascii() and "\n" not in payload


@given(st.text(max_size=20), st.text(max_size=40))
def test_unknown_kinds_come_back_unchanged(kind: str, payload: str) -> None:
    event = decode(f"new {kind}", payload)
    assert event == ev.Unknown(f"new {kind}", payload)
    assert encode(event) == (f"new {kind}", payload)


TABLE = [
    (ev.ReadingTaken(inches("7/8"), "strong"), "reading_taken", '{"manner":"strong","moved":"7/8"}'),
    (ev.HoldTaken(None, ""), "hold_taken", '{"manner":"","moved":null}'),
    (ev.ConstructionChosen(Construction.JUTE), "construction_chosen", '{"construction":"jute"}'),
    (ev.LayChosen(Axis.DOOR_TO_FAR, "0f"), "lay_chosen", '{"axis":"door_to_far","plan":"0f"}'),
    (ev.CornerChosen(Corner.FAR_LEFT), "corner_chosen", '{"corner":"far_left"}'),
    (ev.Proposed(ev.Slipped(), "why"), "proposed", '{"event":{"kind":"slipped","payload":{}},"why":"why"}'),
    (ev.Hooked(measure=True), "hooked", '{"measure":true}'),
    (ev.SidesSet(inches(1), inches(2), System.METRIC), "sides_set", '{"length":"1","system":"metric","width":"2"}'),
    (
        ev.FigureSet(Direction.CROSS, Figure(Fraction(3, 2), None, from_maker=True)),
        "figure_set",
        '{"direction":"cross","figure":{"from_maker":true,"least":"3/2","most":null}}',
    ),
    (
        ev.ConditionNoted("humidity", Quantity(Fraction(45), "pct")),
        "condition_noted",
        '{"kind":"humidity","quantity":{"unit":"pct","value":"45"}}',
    ),
    (ClockJumped(-3_600_000), "clock_jumped", '{"milliseconds":-3600000}'),
    (CarriedOn("a.job", 7, "0f"), "carried_on", '{"file":"a.job","head":"0f","rows":7}'),
    (SoundKept("0f", 1500), "sound_kept", '{"milliseconds":1500,"sha256":"0f"}'),
]


@pytest.mark.parametrize(("event", "kind", "payload"), TABLE, ids=[row[1] for row in TABLE])
def test_rows_as_written(event: ev.Event, kind: str, payload: str) -> None:
    """The format is a promise to files already written: a change here is a change of the format version."""
    assert encode(event) == (kind, payload)


def test_a_held_event_keeps_its_own_kind_field() -> None:
    event = ev.Proposed(ev.NoteMade("seam"), "why")
    assert decode(*encode(event)) == event


def test_kinds_are_distinct_and_snake_case() -> None:
    kinds = {kind_of(each) for each in KNOWN}
    assert len(kinds) == len(KNOWN)
    assert all(each == each.lower() and each.isidentifier() for each in kinds)


def test_a_field_with_a_default_may_be_missing() -> None:
    kind, payload = encode(ev.Started("p", "m", read_order()))
    raw = json.loads(payload)
    del raw["head"]
    assert decode(kind, canonical(raw)) == ev.Started("p", "m", read_order())


BAD = [
    ("reading_taken", '{"moved":"7/8"}', "field 'manner' is missing"),
    ("reading_taken", '{"manner":"","moved":"seven"}', "field 'moved': 'seven' where a fraction such as '7/8'"),
    ("reading_taken", '{"manner":"","moved":"7/0"}', "field 'moved': '7/0' where a fraction"),
    ("reading_taken", '{"manner":"","moved":0.875}', "field 'moved': 0.875 where a fraction"),
    ("reading_taken", '{"manner":7,"moved":"7/8"}', "field 'manner': 7 where text was expected"),
    ("reading_taken", '{"manner":"","moved":"1","more":1}', "unknown field 'more'; allowed: moved, manner"),
    ("slipped", '{"x":1}', "unknown field 'x'; allowed: none"),
    ("hooked", '{"x":1}', "unknown field 'x'; allowed: measure"),
    ("hooked", "[]", "[] where an object was expected"),
    ("hooked", "{", "not JSON"),
    ("hooked", "[" * 100_000, "nested too deeply"),
    ("pass_begun", '{"number":true}', "field 'number': True where a whole number was expected"),
    ("pass_begun", '{"number":1.5}', "field 'number': 1.5 where a whole number was expected"),
    ("said", '{"ask":"","by":"","score":"x","text":""}', "field 'score': 'x' where a number was expected"),
    ("construction_chosen", '{"construction":"straw"}', "allowed: tufted_synthetic, woven, jute"),
    ("proposed", '{"event":7,"why":""}', "field 'event': 7 where an event with 'kind' and 'payload'"),
    ("proposed", '{"event":{},"why":""}', "field 'event': {} where an event with"),
    ("proposed", '{"event":{"kind":1,"payload":{}},"why":""}', "field 'event': 1 where the event's kind was expected"),
    ("figure_set", '{"direction":"cross","figure":[]}', "field 'figure': [] where an object was expected"),
    ("job_named", json.dumps({"digits": ["x" * 99]}), "..."),
]


@pytest.mark.parametrize(("kind", "payload", "told"), BAD)
def test_a_bad_payload_is_refused_by_row_and_field(kind: str, payload: str, told: str) -> None:
    with pytest.raises(BadRow) as refused:
        decode(kind, payload, seq=17)
    assert refused.value.code is Exit.BAD_JOB
    assert refused.value.line.startswith(f"row 17 ({kind}): ")
    assert told in refused.value.line
    assert "\n" not in refused.value.line


def test_without_a_number_the_kind_names_the_row() -> None:
    with pytest.raises(BadRow, match="row of kind 'hooked'"):
        decode("hooked", "1")


@given(st.sampled_from(sorted(kind_of(each) for each in KNOWN)), st.text(max_size=30) | objects.map(canonical))
def test_any_payload_decodes_or_is_refused(kind: str, payload: str) -> None:
    try:
        event = decode(kind, payload)
    except BadRow:
        return
    assert decode(*encode(event)) == event
