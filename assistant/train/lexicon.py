"""The model's phones: their numbers, and their forms by place in a word."""

from pathlib import Path

from assistant.train.kaldi import FormatError, PhoneState

SILENCE = "SIL"
POSITIONS = {"B": "begin", "E": "end", "I": "internal", "S": "singleton"}
"""Last letter of a phone's name -> what vosk calls its place in the word."""


def positioned(phones: tuple[str, ...]) -> tuple[str, ...]:
    """A pronunciation with the place of each phone: ('T', 'UW') -> ('T_B', 'UW_E')."""
    if len(phones) == 1:
        return (f"{phones[0]}_S",)
    first, *middle, last = phones
    return (f"{first}_B", *(f"{each}_I" for each in middle), f"{last}_E")


class Phones:
    """The model's phone table."""

    def __init__(self, table: Path) -> None:
        """Read phones.txt: lines 'NAME number', epsilon is 0."""
        pairs = (line.split() for line in table.read_text(encoding="utf-8").splitlines())
        self.number = {name: int(number) for name, number in pairs if name != "<eps>"}
        self.plain = sorted({name[:-2] for name in self.number if name.endswith("_B") and name != "SPN_B"})
        """Names without place, silence and spoken noise left out."""

    def loop(self, name: str) -> int:
        """Transition id of the phone's self-loop."""
        return 2 * self.number[name] - 1

    def forward(self, name: str) -> int:
        """Transition id into the phone."""
        return 2 * self.number[name]

    @property
    def unused_label(self) -> int:
        """The first number that is no transition id; vosk wants a disambiguation symbol, this graph has none."""
        return 2 * len(self.number) + 1

    def boundaries(self) -> str:
        """Content of word_boundary.int: lines 'number place'."""
        places = {number: POSITIONS.get(name[-1], "") if "_" in name else "" for name, number in self.number.items()}
        return "".join(f"{number} {place or 'nonword'}\n" for number, place in sorted(places.items()))

    def check(self, states: list[PhoneState]) -> None:
        """Compare with the acoustic model's own table.

        Raises FormatError naming the first phone that differs in number, or in outputs between its forms.
        """
        if [each.phone for each in states] != sorted(self.number.values()):
            raise FormatError(f"phones.txt has {len(self.number)} phones, final.mdl numbers {len(states)} otherwise")
        outputs = {each.phone: (each.first_output, each.rest_output) for each in states}
        for plain in self.plain:
            if len({outputs[self.number[f"{plain}_{place}"]] for place in POSITIONS}) != 1:
                raise FormatError(f"phone {plain}: its forms have different outputs in final.mdl")
