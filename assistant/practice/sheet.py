"""The simulated carpet laid out under a plan: one strip per pull, neighbours tugging at each other."""

from collections.abc import Sequence

from assistant.core.length import Length
from assistant.core.neighbours import in_line, side_by_side
from assistant.core.order import Direction
from assistant.core.plan import Plan, Pull
from assistant.practice.carpet import Carpet, Place, Strip, rounded


class Sheet:
    """What hands and tape can do with it; the truth is asked for by trial and oracle only."""

    def __init__(self, carpet: Carpet, plan: Plan) -> None:
        self.carpet, self.plan = carpet, plan
        rows = {each: in_line(plan.pulls, each) for each in Direction}
        self.strips = {pull.number: Strip(carpet, _place(pull, rows[pull.direction])) for pull in plan.pulls}
        self._neighbours: dict[int, list[int]] = {pull.number: [] for pull in plan.pulls}
        for one, two in (pair for each in Direction for pair in side_by_side(plan.pulls, each)):
            self._neighbours[two.number].append(one.number)
            self._neighbours[one.number].append(two.number)

    def bite(self, number: int) -> bool:
        """One stroke at a pull; True where the head slipped."""
        return self.strips[number].bite()

    def ease(self, number: int) -> None:
        """Half a stroke back."""
        self.strips[number].ease()

    def hook(self, number: int) -> None:
        """Onto the pins; hooked neighbours are drawn a little towards this one."""
        strip = self.strips[number]
        strip.hook()
        for other in (self.strips[each] for each in self._neighbours[number]):
            if other.loss is not None:
                other.tug(self.carpet.coupling * (strip.moved - other.moved) / 2)

    def tape(self, number: int) -> Length:
        """The mark, read with human error and rounded to the tape."""
        step = self.plan.job.room.system.graduation
        return step * rounded(self.strips[number].tape(), self.plan.job.room.system)


def _place(pull: Pull, row: Sequence[Pull]) -> Place:
    index = row.index(pull)
    return Place(pull.direction, index, index / max(1, len(row) - 1), float(pull.stretched.inches))
