"""What is pressed on a pad is a sentence that the ask's own grammar hears, with the same figure."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.length import MM_PER_INCH, Length, System, tape
from assistant.core.meaning import Meaning, Quantity
from assistant.screen.choices import Pad, asks, taps
from assistant.screen.entry import FRACTIONS, LONGEST, Entry, as_said, typed
from assistant.screen.pad_keys import pad_rows, word_rows
from assistant.speech.grammars import grammar
from assistant.speech.understand import understand


def pad(ask: str, name: str) -> Pad:
    return next(each for each in taps(ask).pads if each.name == name)


def entered(ask: str, name: str, *presses: str) -> str:
    entry = Entry(pad(ask, name))
    for each in presses:
        entry = entry.press(each)
    return entry.sentence


def heard(ask: str, sentence: str) -> Meaning:
    found = understand(sentence, grammar(ask))
    assert found is not None, f"{ask}: '{sentence}' is not heard"
    return found


@pytest.mark.parametrize(
    ("ask", "name", "presses", "sentence"),
    [
        ("job", "number", "0 4 2 7", "job zero four two seven"),
        ("figure", "band", "1 to 1 . 5", "one to one point five percent"),
        ("figure", "least", "1 . 2 5", "at least one point two five percent"),
        ("figure", "pattern", "0 . 2 5", "pattern plus zero point two five percent"),
        ("temperature", "degrees", "7 2 F", "seventy two degrees"),
        ("temperature", "degrees", "2 2 C", "twenty two degrees celsius"),
        ("humidity", "percent", "4 0", "forty percent"),
        ("unrolled", "hours", "4 8", "forty eight hours"),
        ("cushion", "thickness", "7/16", "seven sixteenths"),
        ("cushion", "thickness", "1 1 mm", "eleven millimetres"),
        ("gully", "gap", "3/8", "three eighths"),
        ("slab_humidity", "percent", "7 5", "seventy five percent"),
        ("slab_ph", "ph", "9 . 2", "nine point two p h"),
        ("size", "side", "1 6 ft 2 in", "sixteen feet two inches"),
        ("size", "side", "1 ft 1 in", "one foot one inch"),
        ("size", "side", "1 2 ft 3 5/8 in", "twelve feet three and five eighths inches"),
        ("size", "side", "1 2 ft 5/8 in", "twelve feet and five eighths inch"),
        ("size", "side", "3 . 6 4 m", "three point six four metres"),
        ("size", "side", "3 m 6 4 cm", "three metres sixty four centimetres"),
        ("size", "sides", "1 1 ft by 1 6 ft 2 in", "eleven feet by sixteen feet two inches"),
        ("wall", "wall", "1 2 ft 6 in|turn right", "twelve feet six inches turn right"),
        ("wall", "wall", "3 ft|bear left|4 5 degrees", "three feet bear left forty five degrees"),
        ("wall", "mend", "2 is 1 2 ft", "wall two is twelve feet"),
        ("square", "diagonal", "2 0 ft", "diagonal is twenty feet"),
        (
            "openings",
            "doorway",
            "far wall|doorway from|3 ft until 5 ft",
            "far wall doorway from three feet until five feet",
        ),
        (
            "openings",
            "hearth",
            "wall|2|hearth from|3 ft until 8 ft and 1 ft 6 in",
            "wall two hearth from three feet until eight feet and one foot six inches deep",
        ),
        ("pull", "reading", "1 5/8 in", "one and five eighths inches"),
        ("pull", "reading", "1 5/8", "one and five eighths"),
        ("pull", "reading", "3/16 strong", "three sixteenths strong"),
        ("pull", "reading", "3 8 mm light", "thirty eight millimetres light"),
        ("pull", "reading", "3 5 . 9 mm light", "three point five nine centimetres light"),
        ("pull", "reading", "9 . 1 mm", "zero point nine one centimetres"),
        ("pull", "head", "3 in", "head three inches"),
        ("hold", "holds", "1 1/2 in", "holds one and a half inches"),
    ],
)
def test_presses_make_the_sentence_and_it_is_heard(ask: str, name: str, presses: str, sentence: str) -> None:
    pressed = [key for part in presses.split("|") for key in ([part] if part in pad(ask, name).words else part.split())]
    assert entered(ask, name, *pressed) == sentence
    heard(ask, sentence)
    keys = {key.press for row in (*pad_rows(pad(ask, name)), *word_rows(pad(ask, name))) for key in row}
    assert set(pressed) <= keys, "a key that the pad does not have"


@given(st.integers(1, 16 * 20 - 1))
def test_every_sixteenth_below_twenty_inches_can_be_entered_as_a_reading(sixteenths: int) -> None:
    whole, part = divmod(sixteenths, 16)
    presses = [*(str(whole) if whole else ""), *([str(Fraction(part, 16))] if part else []), "in"]
    assert heard("pull", entered("pull", "reading", *presses)).quantities == (Quantity(Fraction(sixteenths, 16), "in"),)


@given(st.integers(1, 99), st.integers(0, 11), st.integers(0, 15))
def test_every_room_side_on_the_tape_can_be_entered(feet: int, inches: int, part: int) -> None:
    presses = [*str(feet), "ft", *(str(inches) if inches else ""), *([str(Fraction(part, 16))] if part else [])]
    presses += ["in"] if inches or part else []
    expected = Quantity(Fraction(feet * 12 + inches) + Fraction(part, 16), "in")
    assert heard("size", entered("size", "side", *presses)).quantities == (expected,)


@given(st.integers(1, 999))
def test_every_millimetre_can_be_entered(mm: int) -> None:
    assert heard("pull", entered("pull", "reading", *str(mm), "mm")).quantities == (Quantity(Fraction(mm), "mm"),)


@settings(max_examples=20)
@given(st.integers(1000, 30_480))
def test_a_side_can_be_typed_as_it_is_shown(mm: int) -> None:
    text = typed(tape(Length(Fraction(mm) / MM_PER_INCH), System.METRIC), pad("size", "side")).sentence
    assert sum(each.value for each in heard("size", text).quantities) == mm


@given(st.integers(1, 9999))
def test_every_tenth_of_a_millimetre_can_be_entered(tenths: int) -> None:
    presses = [*str(tenths // 10), ".", str(tenths % 10), "mm"]
    expected = Quantity(Fraction(tenths, 10), "mm")
    assert heard("hold", entered("hold", "holds", *presses)).quantities == (expected,)


@pytest.mark.parametrize(
    "presses", ["", "1 2", "ft", ". 5 ft", "1 . . 5 m", "1 5/8 5/8 in", "5/8 1 in", "1 2 3 4 5 6 7 in"]
)
def test_what_is_no_sentence_is_not_heard(presses: str) -> None:
    assert understand(entered("size", "side", *presses.split()), grammar("size")) is None


def test_a_key_too_many_is_not_taken_and_the_last_can_be_taken_back() -> None:
    entry = Entry(pad("pull", "reading"))
    for _ in range(LONGEST + 5):
        entry = entry.press("in")
    assert len(entry.presses) == LONGEST
    assert Entry(entry.pad, ("1", "5/8")).back() == Entry(entry.pad, ("1",))
    assert Entry(entry.pad).back() == Entry(entry.pad)


def test_the_entry_is_shown_as_on_the_tape() -> None:
    assert Entry(pad("size", "side"), ("1", "2", "ft", "3", "5/8", "in")).shown == "12 ft 3 5/8 in"
    assert Entry(pad("temperature", "degrees"), ("7", "2", "F")).shown == "72 °F"


@pytest.mark.parametrize(
    ("ask", "text", "sentence"),
    [
        ("size", "12' 3 5/8\"", "twelve feet three and five eighths inches"),
        ("size", "12 ft 3 5/8 in", "twelve feet three and five eighths inches"),
        ("size", "11 6", "eleven six"),
        ("size", "3.64 m", "three point six four metres"),
        ("size", "3.642 m", "three metres six hundred forty two millimetres"),
        ("size", "4.000 m", "four metres"),
        ("size", "0.915 m", "0.915 metres"),
        ("temperature", "72 °F", "seventy two degrees"),
        ("temperature", "22C", "twenty two degrees celsius"),
        ("humidity", "40", "forty percent"),
        ("job", "0427", "job zero four two seven"),
        ("pull", "1 5/8 strong", "one and five eighths strong"),
        ("pull", "35.9 mm", "three point five nine centimetres"),
        ("pull", "1 9/7", "one 9/7"),
    ],
)
def test_what_a_keyboard_types_is_read_as_presses(ask: str, text: str, sentence: str) -> None:
    assert typed(text, taps(ask).pads[0]).sentence == sentence


@pytest.mark.parametrize(
    ("ask", "text", "sentence"),
    [
        ("job", "job 12", "job one two"),
        ("humidity", "40 percent", "forty percent"),
        ("unrolled", "30 hours", "thirty hours"),
        ("figure", "1 to 1.5 percent", "one to one point five percent"),
        ("figure", "At least 1.25 percent", "at least one point two five percent"),
        ("square", "far wall is 12 ft", "far wall is twelve feet"),
        ("square", "diagonal is 20 ft", "diagonal is twenty feet"),
        ("wall", "wall 2 is 12 ft 6 in", "wall two is twelve feet six inches"),
        ("pull", "head 3 in", "head three inches"),
        ("hold", "holds 1 1/2", "holds one and a half"),
    ],
)
def test_figures_may_be_typed_among_the_words(ask: str, text: str, sentence: str) -> None:
    assert as_said(text, taps(ask).pads, lambda said: understand(said, grammar(ask)) is not None) == sentence


def test_a_job_on_one_tape_has_no_keys_of_the_other() -> None:
    both = pad("pull", "reading")
    assert both.on(None) is both
    assert both.on(System.IMPERIAL).units == ("in",)
    metric = both.on(System.METRIC)
    assert (metric.units, metric.fractions) == (("cm", "mm"), False)
    assert pad("temperature", "degrees").on(System.METRIC).units == ("F", "C")


@pytest.mark.parametrize("upright", [False, True])
@pytest.mark.parametrize("ask", asks())
def test_every_pad_has_its_digits_fractions_words_and_actions_once(ask: str, upright: bool) -> None:
    for each in taps(ask).pads:
        rows = pad_rows(each, upright)
        presses = [key.press for row in rows for key in row if key.press]
        assert sorted(presses) == sorted({*presses})
        assert {*"0123456789"} <= {*presses}
        assert {*each.units} <= {*presses}
        assert ({*FRACTIONS} <= {*presses}) == each.fractions
        assert [key.label for row in rows for key in row if key.action] == ["OK", "Rub out", "Clear", "Close"]
        assert len({len(row) for row in rows[:4]}) == 1, "digits, units and actions stand in columns"
        assert max(map(len, rows)) <= (5 if upright else 9)
        assert [key.press for row in word_rows(each) for key in row] == list(each.words)
