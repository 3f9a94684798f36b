"""Messages: no key missing, none unused, none too long to be heard."""

import re
from fractions import Fraction
from pathlib import Path

import pytest

import assistant
from assistant.core import plausible, setup_talk
from assistant.core.band import Construction
from assistant.core.conditions import KINDS
from assistant.core.length import System, feet, inches, millimetres
from assistant.core.line import Value, line
from assistant.core.order import Direction
from assistant.core.room import Axis
from assistant.speech.grammars import asks
from assistant.wording import Wording, messages, word

IMPERIAL, METRIC = System.IMPERIAL, System.METRIC
CORE = Path(setup_talk.__file__).parent
BUILT = {
    *(f"ask_figure_{each.value}" for each in Direction),
    *(f"ask_{each}" for each in KINDS),
    *(f"ask_side_{each.value}" for each in Axis),
    *(f"confirm_side_{each.value}" for each in Axis),
    *(f"confirm_{each}_wall" for each in ("right", "far")),
    *(f"{each}_diagonal" for each in ("confirm", "doubt")),
    *(f"call_tail_{each}" for each in ("doorway", "hearth", "island", "reflex")),
    *(f"trim_eaten_{each.value}" for each in Axis),
    *(f"construction_{each.value}" for each in Construction),
    *(f"options_{each}" for each in asks()),
    *(f"options_{each}_in_metres" for each in ("size", "wall", "square", "openings", "pull", "hold")),
    *(f"hold_{each}" for each in ("short", "in_band", "over", "none")),
    *("temperature_noted_F", "temperature_noted_C", "humidity_noted_pct", "unrolled_noted_h"),
    *("cushion_noted_in", "cushion_noted_mm", "gully_noted_in", "gully_noted_mm"),
    *("slab_humidity_noted_pct", "slab_ph_noted_pH", "no_cushion_noted", "no_slab_noted"),
    *("one_row_noted", "two_rows_noted", "wide_noted"),
    *(f"{each}_impossible" for each in plausible.POSSIBLE),
    *(f"mixed_units_in_{each}" for each in ("feet", "metres", "inches", "millimetres")),
    *("confirm_sides_length", "confirm_sides_width", "confirm_figure_least"),
    *("noinput", "nomatch", "louder", "quieter", "slower", "faster"),
}
"""Keys the core puts together from parts."""
QUOTED = {
    each
    for file in Path(assistant.__file__).parent.rglob("*.py")
    for each in re.findall(r'"([A-Za-z_]+)"', file.read_text(encoding="utf-8"))
}
KEYED = re.compile(r'(?:line|refuse|Doubt|propose)\((?:[^"()]*\([^()]*\)[^"()]*,)?\s*"(\w+)"')
LINES = {each for file in CORE.glob("*.py") for each in KEYED.findall(file.read_text(encoding="utf-8"))}
"""Keys the core names where it speaks, refuses, doubts or proposes."""

WIDEST: dict[str, tuple[Value, ...]] = {
    "length": (feet(27, "191/16"), millimetres(30_473)),
    "side": (feet(27, "191/16"), millimetres(30_473)),
    "off": (feet(27, "191/16"), millimetres(30_473)),
    "start": (feet(27, "191/16"), millimetres(30_473)),
    "end": (feet(27, "191/16"), millimetres(30_473)),
    "depth": (feet(27, "191/16"), millimetres(30_473)),
    "square": (feet(27, "191/16"), millimetres(30_473)),
    "eaten": (inches("191/16"), millimetres(277)),
    "position": (feet(27, "23/2"), millimetres(27_770)),
    "distance": (inches("191/16"), millimetres("277.7")),
    "moved": (feet(1, "95/16"), inches("191/16"), millimetres("477.7")),
    "missing": (inches("191/16"), millimetres(277)),
    "over": (inches("191/16"), millimetres(277)),
    "least": (inches("191/16"), millimetres(277)),
    "part": (feet(27, "191/16"), millimetres(30_473)),
    "size": ("nineteen foot eleven and fifteen sixteenths inch", "five metre nine hundred ninety nine millimetre"),
}
"""The wordiest figure of each name that a room up to 100 ft brings."""
OTHERS: dict[str, Value] = {
    "kind": "doorway", "way": "right", "degrees": 177, "which": 97,
    "number": 121, "count": 63, "pulls": 126, "passes": 3, "bites": 27, "first": 121, "second": 122,
    "percent": Fraction("2.77"), "value": Fraction(127), "wall": "right", "direction": "length",
    "reason": "out of reach",
    "note": "wrinkle", "manner": "strong", "corner": "door right", "digits": "one two seven", "text": "", "source": "",
    "code": "", "sentence": "eleven and fifteen sixteenths inches strong",
}  # fmt: skip
PER_CENT = Fraction("9.75")


def names(key: str) -> set[str]:
    return set(re.findall(r"{(\w+)}", messages()[key][0] + messages()[key][1]))


def widest(key: str) -> list[Wording]:
    found = []
    for system, at in ((IMPERIAL, 0), (METRIC, -1)):
        values: dict[str, Value] = {}
        for name in names(key):
            values[name] = WIDEST[name][at] if name in WIDEST else OTHERS.get(name, PER_CENT)
            if key.startswith("confirm_figure"):
                values[name] = PER_CENT
        found.append(word(line(key, **values), system))
    return found


def test_every_key_the_core_uses_has_its_words() -> None:
    assert len(LINES) > 40
    assert (LINES | BUILT) - messages().keys() - {"confirm_figure", "confirm_sides"} == set()
    assert "confirm_figure" in messages()


def test_no_message_is_unused() -> None:
    assert messages().keys() - BUILT - QUOTED == set()


@pytest.mark.parametrize("key", sorted(messages()))
def test_a_sentence_is_short_enough_to_be_heard(key: str) -> None:
    """At most 12 words (4.6 s at 155 a minute) and two figures; digits are read one by one and may be longer."""
    for told in widest(key):
        assert len(told.say.replace(",", " ").split()) <= 12, told.say
        assert not told.say or told.say[0].isupper() or told.say[0].isdigit()
    words = {"wall", "reason", "note", "manner", "corner", "direction"}
    assert len(set(re.findall(r"{(\w+)}", messages()[key][0])) - words) <= 2


def test_figures_are_said_in_words_and_shown_as_on_the_tape() -> None:
    told = word(line("call_pull", number=7, least=inches("23/16")), IMPERIAL)
    assert told == Wording(
        "Pull seven. At least one and seven sixteenths inches.", "Pull 7. At least 1 7/16 in.", helper=False
    )
    assert word(line("short", missing=millimetres(38)), METRIC).show == "Short 38 mm."


def test_shares_are_rounded_for_people() -> None:
    told = word(line("no_verdict", percent=Fraction(125, 120)), IMPERIAL)
    assert (told.say, told.show) == ("One point zero four per cent. No verdict.", "1.04 per cent. No verdict.")


@pytest.mark.parametrize(
    ("points", "said", "shown"),
    [
        ("1/8", "an eighth", "0.125"),
        ("3/16", "three sixteenths", "0.1875"),
        ("9/8", "one and an eighth", "1.125"),
        ("1/4", "zero point two five", "0.25"),
        ("5/4", "one point two five", "1.25"),
        ("111/80", "one point three eight seven five", "1.3875"),
    ],
)
def test_a_figure_that_was_said_is_told_exactly(points: str, said: str, shown: str) -> None:
    told = word(line("confirm_pattern", points=Fraction(points)), IMPERIAL)
    assert told.say == f"Pattern plus {said} per cent. Yes or no?"
    assert told.show == f"Pattern plus {shown} per cent. Yes or no?"


def test_the_helper_is_called_in_his_own_voice() -> None:
    assert word(line("call_position", position=inches("19/2")), IMPERIAL).helper
    helped = [key for key, (_, _, helper) in messages().items() if helper]
    assert helped == [
        key for key in messages() if key.startswith(("call_position", "call_wall", "call_lean", "call_tail", "tubes_"))
    ]


def test_a_caution_is_counted_aloud_and_shown_whole() -> None:
    told = word(line("plan_caution", text="cross pulls: wide", source="CRI 105"), IMPERIAL)
    assert (told.say, told.show) == ("", "Caution: cross pulls: wide (CRI 105).")


def test_unknown_keys_and_missing_figures_are_errors() -> None:
    with pytest.raises(KeyError):
        word(line("sing"), IMPERIAL)
    with pytest.raises(KeyError):
        word(line("short"), IMPERIAL)
