"""Figures as they are said: number words, lengths, and the digit form for pairs that sound alike."""

from fractions import Fraction

from assistant.core.length import Length, System

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
    "seventeen eighteen nineteen"
).split()
_TENS = ["", "", *"twenty thirty forty fifty sixty seventy eighty ninety".split()]
_PARTS = {2: ("half", "halves"), 4: ("quarter", "quarters"), 8: ("eighth", "eighths"), 16: ("sixteenth", "sixteenths")}
_SOUND_ALIKE = {*range(13, 20), *range(30, 100, 10)}


def whole(number: int) -> str:
    """0 to 999,999 in words, without 'and': 'one hundred five'."""
    if number < 20:
        return _ONES[number]
    if number < 100:
        return _TENS[number // 10] + (f" {_ONES[number % 10]}" if number % 10 else "")
    size, name = (1000, "thousand") if number >= 1000 else (100, "hundred")
    head, rest = divmod(number, size)
    return f"{whole(head)} {name}" + (f" {whole(rest)}" if rest else "")


def fraction(part: Fraction) -> str:
    """A tape fraction below one: 'a half', 'three sixteenths'. Raises ValueError off the tape's marks."""
    if part.denominator not in _PARTS or not 0 < part < 1:
        raise ValueError(f"{part} is no half, quarter, eighth or sixteenth below one")
    one, many = _PARTS[part.denominator]
    if part.numerator == 1:
        return ("an " if one.startswith("e") else "a ") + one
    return f"{whole(part.numerator)} {many}"


def decimal(number: Fraction, places: int = 1) -> str:
    """Rounded to `places` decimals: 'one point four'; a whole number has no point."""
    scaled = round(number * 10**places)
    head, rest = divmod(scaled, 10**places)
    digits = f"{rest:0{places}d}".rstrip("0")
    return whole(head) + (" point " + " ".join(_ONES[int(each)] for each in digits) if digits else "")


def share(number: Fraction) -> str:
    """A figure that was said, exactly: 'an eighth', 'one and three sixteenths', 'one point two five'.

    One of more than four places, which nobody says, is rounded to two.
    """
    head, part = divmod(number, 1)
    if part.denominator in (8, 16):
        return f"{whole(head)} and {fraction(part)}" if head else fraction(part)
    return decimal(number, places=4 if four_places(number) else 2)


def four_places(number: Fraction) -> bool:
    """Do four decimals tell the number exactly?"""
    return (number * 10**4).denominator == 1


def length(value: Length, system: System) -> str:
    """To the nearest graduation: 'twelve feet three and five eighths inches', 'three metres sixty four centimetres'."""
    shown = value.nearest(system.graduation)
    return _imperial(shown.inches) if system is System.IMPERIAL else _metric(int(shown.mm))


def _imperial(value: Fraction) -> str:
    feet, rest = divmod(value, 12)
    pieces = [f"{whole(int(feet))} {'foot' if feet == 1 else 'feet'}"] if feet else []
    if rest or not feet:
        pieces.append(_inches(rest, after_feet=bool(feet)))
    return " ".join(pieces)


def _inches(value: Fraction, *, after_feet: bool) -> str:
    head, part = int(value), value % 1
    if not part:
        return f"{whole(head)} {'inch' if head == 1 else 'inches'}"
    if not head:
        alone = "half an inch" if part == Fraction(1, 2) else f"{fraction(part)} of an inch"
        return f"and {fraction(part)} inch" if after_feet else alone
    return f"{whole(head)} and {fraction(part)} inches"


def _metric(mm: int) -> str:
    metres, rest = divmod(mm, 1000)
    if not metres:
        return f"{whole(rest)} {'millimetre' if rest == 1 else 'millimetres'}"
    said = f"{whole(metres)} {'metre' if metres == 1 else 'metres'}"
    if not rest:
        return said
    return f"{said} {whole(rest)} millimetres" if rest % 10 else f"{said} {whole(rest // 10)} centimetres"


def sounds_alike(value: Length, system: System) -> bool:
    """Does the spoken form hold one of thirteen/thirty ... nineteen/ninety?"""
    return any(whole_sounds_alike(number) for number in _numbers(value, system))


def whole_sounds_alike(number: int) -> bool:
    """Does the number end in one of thirteen/thirty ... nineteen/ninety?"""
    return number % 100 in _SOUND_ALIKE


def one_by_one(number: int) -> str:
    """Its digits as words: 'one six'."""
    return " ".join(_ONES[int(each)] for each in str(number))


def digits(value: Length, system: System) -> str:
    """Number by number in digits, the tape fraction as it is: 'one six, two and three eighths'."""
    words = ", ".join(one_by_one(number) for number in _numbers(value, system))
    part = value.nearest(system.graduation).inches % 1 if system is System.IMPERIAL else Fraction(0)
    if not part:
        return words
    return f"{words} and {fraction(part)}" if words else fraction(part)


def _numbers(value: Length, system: System) -> list[int]:
    shown = value.nearest(system.graduation)
    if system is System.METRIC:
        metres, rest = divmod(int(shown.mm), 1000)
        tail = rest if rest % 10 or not metres else rest // 10
        return ([metres] if metres else []) + ([tail] if tail or not metres else [])
    feet, inches = divmod(shown.inches, 12)
    numbers = [each for each in (int(feet), int(inches)) if each]
    return numbers if numbers or inches % 1 else [0]
