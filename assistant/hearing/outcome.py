"""What became of one recording under one condition, and the measures over many."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from assistant.hearing.manifest import NONE, Item
from assistant.hearing.statistics import mcnemar, wilson
from assistant.hearing.words import errors


@dataclass(frozen=True)
class Outcome:
    """One recording heard once."""

    item: Item
    condition: str
    text: str
    """Words heard, '' where nobody was heard."""
    meaning: str
    """As manifest.told; NONE where nothing was understood."""
    score: float
    late_s: float | None
    """True end of speech -> result, work included; None where nothing was heard."""
    traits: Mapping[str, float] = field(default_factory=dict)
    """What the engine's own probability was made of, where it has one; the names tell which."""
    offered: str = NONE
    """Where nothing was taken, what would be asked about first: 'Did I hear ...?'"""

    @property
    def taken(self) -> bool:
        """Something was understood."""
        return self.meaning != NONE

    @property
    def right(self) -> bool:
        """Understood as meant: every value of a sentence, nothing for what is none."""
        return self.meaning == self.item.meaning


@dataclass(frozen=True)
class Share:
    """A part of a whole."""

    part: int
    whole: int

    @property
    def percent(self) -> float:
        """Per cent; not a number where there is nothing to count."""
        return 100 * self.part / self.whole if self.whole else float("nan")

    @property
    def interval(self) -> tuple[float, float]:
        """95 % Wilson interval in per cent."""
        low, high = wilson(self.part, self.whole)
        return 100 * low, 100 * high

    def __str__(self) -> str:
        if not self.whole:
            return "-"
        low, high = self.interval
        return f"{self.percent:.1f} ({low:.1f}-{high:.1f})"


def share(each: Iterable[bool]) -> Share:
    """How many of them hold."""
    flags = list(each)
    return Share(sum(flags), len(flags))


@dataclass(frozen=True)
class Measures:
    """All measures over one group of outcomes."""

    right: Share
    """Sentences of the grammars understood with all values."""
    wrong: Share
    """Sentences understood as something else: a wrong value may follow."""
    wrong_values: Share
    """Of these, where the act was right and a figure, word or manner wrong."""
    refused: Share
    """Sentences not understood: asked again."""
    offered: Share
    """Of these, where the right one is asked about first: a yes is enough."""
    sentence_errors: Share
    """Sentences with any wrong word."""
    word_errors: Share
    """Words wrong, left out or put in, against words said."""
    accepted: Share
    """Other speech taken for a sentence."""
    cut_short: Share
    """Sentences whose result was there before their speech had ended: the end-pointer took a pause for the end."""
    late_s: list[float]
    """Of every sentence heard."""


def measure(outcomes: Sequence[Outcome]) -> Measures:
    """The measures of one group."""
    inside = [each for each in outcomes if each.item.inside]
    spoken = [(each.item.text.split(), each.text.split()) for each in inside]
    return Measures(
        right=share(each.right for each in inside),
        wrong=share(each.taken and not each.right for each in inside),
        wrong_values=share(
            each.taken and not each.right and _act(each.meaning) == _act(each.item.meaning) for each in inside
        ),
        refused=share(not each.taken for each in inside),
        offered=share(not each.taken and each.offered == each.item.meaning for each in inside),
        sentence_errors=share(said != heard for said, heard in spoken),
        word_errors=Share(sum(errors(*each) for each in spoken), sum(len(said) for said, _ in spoken)),
        accepted=share(each.taken for each in outcomes if not each.item.inside),
        cut_short=share(each.late_s is not None and each.late_s < 0 for each in inside),
        late_s=[each.late_s for each in inside if each.late_s is not None],
    )


def _act(meaning: str) -> str:
    return meaning.split()[0]


@dataclass(frozen=True)
class Difference:
    """Two engines on the same trials."""

    only_first: int
    """Only the first was right."""
    only_second: int
    p: float
    """McNemar's, two-sided."""


def compare(first: Sequence[Outcome], second: Sequence[Outcome]) -> Difference:
    """Sentences and other speech together: right is right. Raises ValueError where the trials are not the same."""
    keys = [[(each.item.file, each.condition) for each in outcomes] for outcomes in (first, second)]
    if keys[0] != keys[1]:
        raise ValueError("the two engines did not hear the same recordings in the same order")
    pairs = [(one.right, other.right) for one, other in zip(first, second, strict=True)]
    ahead, behind = pairs.count((True, False)), pairs.count((False, True))
    return Difference(ahead, behind, mcnemar(ahead, behind))
