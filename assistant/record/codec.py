"""Events <-> rows: (kind, canonical JSON). Generic over the type hints of the event classes."""

import json
import re
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from fractions import Fraction
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from assistant.core import events as ev
from assistant.core.length import Length
from assistant.exits import Exit, Refusal

_FRACTION = re.compile(r"-?\d{1,400}(/0*[1-9]\d{0,400})?")
_SHOWN = 40
"""So many characters of a wrong value are shown."""


class BadRow(Refusal):
    """A row of a job file that cannot be an event; the line names the row, the field and what was expected."""

    def __init__(self, what: str) -> None:
        super().__init__(Exit.BAD_JOB, what)


def kind_of(event: type) -> str:
    """The kind an event class is stored under: ReadingTaken -> 'reading_taken'."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", "_", event.__name__).lower()


_KINDS: dict[str, type] = {kind_of(each): each for each in get_args(ev.Event) if each is not ev.Unknown}


def canonical(value: Any) -> str:
    """JSON with sorted keys, no spaces, ASCII only: the same value always gives the same bytes, for it is hashed."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)


def encode(event: ev.Event) -> tuple[str, str]:
    """The row of an event; an Unknown goes back unchanged."""
    if isinstance(event, ev.Unknown):
        return event.kind, event.payload
    return kind_of(type(event)), canonical(_fields(event))


def decode(kind: str, payload: str, seq: int | None = None) -> ev.Event:
    """The event of a row; a kind this version does not know becomes Unknown.

    `seq` is the row's number, for the message. Raises BadRow for a payload that does not fit its kind.
    """
    if kind not in _KINDS:
        return ev.Unknown(kind, payload)
    where = f"row {seq} ({kind})" if seq is not None else f"row of kind '{kind}'"
    try:
        event: ev.Event = _dataclass(_KINDS[kind], json.loads(payload))
    except RecursionError:
        raise BadRow(f"{where}: nested too deeply; no event is") from None
    except json.JSONDecodeError as error:
        raise BadRow(f"{where}: not JSON ({error.msg}); a JSON object is expected") from None
    except (ValueError, TypeError) as error:
        raise BadRow(f"{where}: {error}") from None
    return event


# Values -> plain JSON values.


def _fields(value: Any) -> dict[str, Any]:
    return {each.name: _plain(getattr(value, each.name)) for each in fields(value)}


def _plain(value: Any) -> Any:
    match value:
        case ev.Unknown():
            return {"kind": value.kind, "payload": json.loads(value.payload)}
        case Length():
            return str(value.inches)
        case Fraction():
            return str(value)
        case Enum():
            return value.value
        case tuple():
            return [_plain(each) for each in value]
        case _ if type(value) in _KINDS.values():
            # Apart from its fields: some events have a field 'kind' of their own.
            return {"kind": kind_of(type(value)), "payload": _fields(value)}
        case _ if is_dataclass(value):
            return _fields(value)
    return value


# Plain JSON values -> values, as the type hints ask.


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _dataclass(kind: type, raw: Any) -> Any:
    if not isinstance(raw, dict):
        raise ValueError(f"{_show(raw)} where an object was expected")
    known = {each.name: each for each in fields(kind)}
    strange = sorted(set(raw) - set(known))
    if strange:
        raise ValueError(f"unknown field {_show(strange[0])}; allowed: {', '.join(known) or 'none'}")
    values = {}
    for name, each in known.items():
        if name in raw:
            values[name] = _field(name, _hints(kind)[name], raw[name])
        elif each.default is MISSING and each.default_factory is MISSING:
            raise ValueError(f"field '{name}' is missing")
    return kind(**values)


def _field(name: str, hint: Any, raw: Any) -> Any:
    try:
        return _value(hint, raw)
    except ValueError as error:
        raise ValueError(f"field '{name}': {error}") from None


def _value(hint: Any, raw: Any) -> Any:
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        return _either(get_args(hint), raw)
    if origin is tuple:
        return tuple(_value(get_args(hint)[0], each) for each in _expect(raw, list, "a list"))
    if hint is Length:
        return Length(_fraction(raw))
    if hint is Fraction:
        return _fraction(raw)
    if hint is float:
        return float(_expect(raw, (int, float), "a number"))
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _choice(hint, raw)
    if is_dataclass(hint) and isinstance(hint, type):
        return _dataclass(hint, raw)
    return _expect(raw, hint, {str: "text", int: "a whole number", bool: "true or false"}[hint])


def _either(hints: tuple[Any, ...], raw: Any) -> Any:
    if NoneType in hints and raw is None:
        return None
    left = [each for each in hints if each is not NoneType]
    return _value(left[0], raw) if len(left) == 1 else _event(raw)


def _event(raw: Any) -> ev.Event:
    if not isinstance(raw, dict) or set(raw) != {"kind", "payload"}:
        raise ValueError(f"{_show(raw)} where an event with 'kind' and 'payload' was expected")
    kind = _expect(raw["kind"], str, "the event's kind")
    if kind not in _KINDS:
        return ev.Unknown(kind, canonical(raw["payload"]))
    event: ev.Event = _dataclass(_KINDS[kind], raw["payload"])
    return event


def _expect(raw: Any, kind: Any, what: str) -> Any:
    if not isinstance(raw, kind) or (isinstance(raw, bool) and kind is not bool):
        raise ValueError(f"{_show(raw)} where {what} was expected")
    return raw


def _fraction(raw: Any) -> Fraction:
    text = _expect(raw, str, "a fraction such as '7/8'")
    if not _FRACTION.fullmatch(text):
        raise ValueError(f"{_show(raw)} where a fraction such as '7/8' was expected")
    return Fraction(text)


def _choice(kind: type[Enum], raw: Any) -> Enum:
    for each in kind:
        if each.value == raw:
            return each
    raise ValueError(f"{_show(raw)}; allowed: {', '.join(str(each.value) for each in kind)}")


def _show(raw: Any) -> str:
    text = repr(raw)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."
