"""Figures as they are said: number words, lengths, and the digit form for pairs that sound alike."""

from fractions import Fraction

from assistant.core.length import Length, System

_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
    "seventeen eighteen nineteen"
).split()
_TENS = ["", "", *"twenty thirty forty fifty sixty seventy eighty ninety".split()]
_PARTS = {
    2: ("half", "halves"),
    4: ("quarter", "quarters"),
    8: ("eighth", "eighths"),
    16: ("sixteenth", "sixteenths"),
    32: ("thirty second", "thirty seconds"),
    64: ("sixty fourth", "sixty fourths"),
}
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
    """An inch fraction below one: 'a half', 'three sixteenths'. Raises ValueError for one that no tape has."""
    if part.denominator not in _PARTS or not 0 < part < 1:
        raise ValueError(f"{part} is no half, quarter, eighth, sixteenth, thirty second or sixty fourth below one")
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
    """In words: 'three and five eighths inches', 'thirty five point nine millimetres'. See `Length.told`."""
    shown = value.told(system)
    return _imperial(shown.inches) if system is System.IMPERIAL else _metric(shown.mm)


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
    if part.denominator not in _PARTS:
        return f"{decimal(value, places=2)} inches"
    if not head:
        alone = "half an inch" if part == Fraction(1, 2) else f"{fraction(part)} of an inch"
        return f"and {fraction(part)} inch" if after_feet else alone
    return f"{whole(head)} and {fraction(part)} inches"


def _metric(mm: Fraction) -> str:
    metres, rest = divmod(mm, 1000)
    if not metres:
        return f"{decimal(rest)} {'millimetre' if rest == 1 else 'millimetres'}"
    said = f"{whole(metres)} {'metre' if metres == 1 else 'metres'}"
    if not rest:
        return said
    return f"{said} {decimal(rest)} millimetres" if rest % 10 else f"{said} {whole(int(rest) // 10)} centimetres"


def sounds_alike(value: Length, system: System) -> bool:
    """Does the spoken form hold one of thirteen/thirty ... nineteen/ninety?"""
    return any(whole_sounds_alike(number) for number in _numbers(value, system)[0])


def whole_sounds_alike(number: int) -> bool:
    """Does the number end in one of thirteen/thirty ... nineteen/ninety?"""
    return number % 100 in _SOUND_ALIKE


def one_by_one(number: int) -> str:
    """Its digits as words: 'one six'."""
    return " ".join(_ONES[int(each)] for each in str(number))


def digits(value: Length, system: System) -> str:
    """Number by number in digits, the fraction as it is: 'one six, two and three eighths', 'three five point nine'."""
    numbers, part = _numbers(value, system)
    words = ", ".join(one_by_one(number) for number in numbers)
    if not part:
        return words
    if _is_decimal(part, system):
        return words + decimal(part, places=2).removeprefix(_ONES[0])
    return f"{words} and {fraction(part)}" if words else fraction(part)


def _is_decimal(part: Fraction, system: System) -> bool:
    return system is System.METRIC or part.denominator not in _PARTS


def _numbers(value: Length, system: System) -> tuple[list[int], Fraction]:
    """The whole numbers in the order they are said, and what is left below one of the last."""
    metric, shown = system is System.METRIC, value.told(system)
    large, rest = divmod(shown.mm, 1000) if metric else divmod(shown.inches, 12)
    small, part = int(rest), rest % 1
    if metric and large and not rest % 10:
        small //= 10
    last = bool(small) or (_is_decimal(part, system) if part else not large)
    return ([large] if large else []) + ([small] if last else []), part
