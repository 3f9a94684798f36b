"""Fits a calibration (speech/trust.py) to outcomes of development voices; never to the evaluation's.

Only what was understood counts: is its meaning right? Logistic regression by Newton's method with a small ridge on the
standardised weights, told from cross-validation with all conditions of one recording in one fold.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.hearing.outcome import Outcome, Share, share
from assistant.speech.trust import NAMES, Trust

Values = NDArray[np.float64]
RIDGE = 1.0
FOLDS = 5
WRONG_COSTS = 1.5
"""Every value taken is read back, and sizes and maker's figures need a yes; still a wrong one is worse than asking
again: what is right in three cases of five is taken."""
BOTH_COST = 2.0
"""The same by two ears where no yes follows: two thirds for three fifths there took, on development recordings at 5 dB,
3.1 % of other speech for 3.9 and 87.7 % of sentences rightly for 87.9. One ear would take too few."""
DOUBT_COSTS = 0.5
"""'Did you say ...?' costs half as much as asking anew: worth it down to one right in three."""


@dataclass(frozen=True)
class Fitted:
    """A calibration and how well it foretells recordings it was not fitted to."""

    trust: Trust
    foretold: Values
    """Cross-validated probability of each outcome used."""
    right: Values
    """1 where its meaning was right, else 0."""
    used: Sequence[Outcome]

    @property
    def log_loss(self) -> float:
        """Mean negative log likelihood, nats."""
        p = np.clip(self.foretold, 1e-9, 1 - 1e-9)
        return float(-np.mean(self.right * np.log(p) + (1 - self.right) * np.log(1 - p)))

    @property
    def base_log_loss(self) -> float:
        """The same for always foretelling the share that is right."""
        share_right = float(np.clip(self.right.mean(), 1e-9, 1 - 1e-9))
        return float(-(share_right * np.log(share_right) + (1 - share_right) * np.log(1 - share_right)))


def fit(outcomes: Sequence[Outcome], model: str, names: Sequence[str] = NAMES, at_once: float = WRONG_COSTS) -> Fitted:
    """A calibration for the networks with checksum `model`, of the traits called `names`: outcomes without them, as
    those about which the second ear was not asked, are not used. `at_once`: WRONG_COSTS where no yes follows.

    Raises ValueError where nothing was understood wrongly, or nothing rightly: then there is nothing to learn.
    """
    used = [each for each in outcomes if each.taken and each.traits.keys() >= {*names}]
    x = np.array([[each.traits[name] for name in names] for each in used]).reshape(len(used), len(names))
    y = np.array([float(each.right) for each in used])
    if len({*y}) < 2:
        raise ValueError(f"{len(used)} outcomes, all alike: the development set needs right and wrong ones")
    weights = _regress(x, y)
    folds = _folds(used)
    foretold = np.zeros(len(y))
    for fold in range(FOLDS):
        here = folds == fold
        foretold[here] = _likely(_regress(x[~here], y[~here]), x[here])
    accept = WRONG_COSTS / (WRONG_COSTS + 1)
    ask_again = DOUBT_COSTS / (DOUBT_COSTS + 1)
    found = dict(zip(names, map(float, weights[1:]), strict=True))
    trust = Trust(found, float(weights[0]), accept, ask_again, model, at_once / (at_once + 1))
    return Fitted(trust, foretold, y, used)


def _regress(x: Values, y: Values) -> Values:
    """Bias and weights for plain values; fitted on standardised ones."""
    mean, scale = x.mean(axis=0), x.std(axis=0) + 1e-9
    inputs = np.column_stack([np.ones(len(x)), (x - mean) / scale])
    ridge = RIDGE * np.diag([1e-6, *np.ones(x.shape[1])])
    weights: Values = np.zeros(inputs.shape[1])
    for _ in range(60):
        p = 1 / (1 + np.exp(-np.clip(inputs @ weights, -30, 30)))
        slope = inputs.T @ (p - y) + ridge @ weights
        curve = (inputs * (p * (1 - p))[:, None]).T @ inputs + ridge
        step = np.linalg.solve(curve, slope)
        weights = weights - step
        if np.abs(step).max() < 1e-9:
            break
    plain = weights[1:] / scale
    return np.array([weights[0] - float(plain @ mean), *plain])


def _likely(weights: Values, x: Values) -> Values:
    found: Values = 1 / (1 + np.exp(-np.clip(weights[0] + x @ weights[1:], -30, 30)))
    return found


def _folds(used: Sequence[Outcome]) -> NDArray[np.int64]:
    names = {each: at for at, each in enumerate(sorted({each.item.file.name for each in used}))}
    return np.array([names[each.item.file.name] % FOLDS for each in used])


@dataclass(frozen=True)
class Bin:
    """Outcomes that were foretold alike."""

    foretold: float
    """Mean probability."""
    right: Share


def reliability(foretold: Values, right: Values, bins: int = 8) -> list[Bin]:
    """Bins of equal size, from the least likely up: a calibrated probability lies within the interval of its bin."""
    order = np.argsort(foretold, kind="stable")
    parts = [each for each in np.array_split(order, bins) if len(each)]
    return [Bin(float(foretold[each].mean()), share(bool(one) for one in right[each])) for each in parts]


@dataclass(frozen=True)
class Bought:
    """What a threshold does to a whole set."""

    threshold: float
    right: Share
    """Of the sentences."""
    wrong: Share
    """Of the sentences."""
    accepted: Share
    """Of other speech."""


def bought(outcomes: Sequence[Outcome], foretold: Sequence[float], used: Sequence[Outcome], threshold: float) -> Bought:
    """The measures where only what is at least as likely as `threshold` is taken."""
    taken = {id(each) for each, p in zip(used, foretold, strict=True) if p >= threshold}
    inside = [each for each in outcomes if each.item.inside]
    return Bought(
        threshold,
        right=share(each.right and id(each) in taken for each in inside),
        wrong=share(not each.right and id(each) in taken for each in inside),
        accepted=share(id(each) in taken for each in outcomes if not each.item.inside),
    )
