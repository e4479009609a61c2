"""What a chat's finished batches say of the next one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.rig.belief import Lesson, Normal
from planner.rig.finished import Finished, in_order
from planner.rig.groups import PLACES, groups
from planner.rig.taste import Taste, taste_after
from planner.sources import rules
from planner.unknowns import Prior, usual


@dataclass(frozen=True)
class Value:
    """One belief about the next batch: a value, how sure, and how many batches it rests on."""

    mean: float
    sd: float
    batches: int


@dataclass(frozen=True)
class Experience:
    """A rig and its owner's taste, for the next batch; a field that nothing taught is None.

    ``tack`` is the logarithm of the water that must go until the skin is tacky, against the usual;
    ``smoke`` the prior of a cook; ``fridge_c`` in °C; ``loss`` the logarithm of all that is lost, against
    its sum. None of it opens a gate.
    """

    rig: str | None = None
    tack: Value | None = None
    smoke: Prior | None = None
    fridge_c: Value | None = None
    loss: Value | None = None
    taste: Taste | None = None

    @property
    def loss_factor(self) -> float:
        """What is lost here against what the sums say."""
        return math.exp(self.loss.mean) if self.loss else 1.0


#: Nothing is known.
NOTHING = Experience()


def rigs_of(finished: Sequence[Finished], named: str | None = None) -> tuple[str | None, ...]:
    """The rig of each batch, in their order: those with no name are of the first one that was ever named.

    ``named`` is the first where none of the batches names one.
    """
    first = next((f.rig for f in finished if f.rig), named)
    return tuple(f.rig or first for f in finished)


def experience(finished: Sequence[Finished], rig: str | None) -> Experience:
    """What batches of ``rig`` (by its name, None where it has none) teach; taste is the owner's, whatever the rig.

    At most the newest ``memory.batches`` of the rig count.
    """
    ordered = in_order(finished)
    of_rig = [f for f, name in zip(ordered, rigs_of(ordered, rig), strict=True) if name == rig]
    of_rig = of_rig[-int(rules("rig")["memory"]["batches"]) :]
    return Experience(
        rig=rig,
        tack=_value("drying", of_rig),
        smoke=_cook(_lessons("smoke", of_rig)),
        fridge_c=_value("fridge", of_rig),
        loss=_value("loss", of_rig),
        taste=taste_after(ordered),
    )


def _lessons(group: str, finished: Sequence[Finished]) -> list[Lesson]:
    return [f.taught[group] for f in finished if group in f.taught]


def _value(group: str, finished: Sequence[Finished]) -> Value | None:
    lessons = _lessons(group, finished)
    if not lessons:
        return None
    found = groups()[group].of_next_batch(lessons)
    return Value(found.mean[0], found.sd[0], len(lessons))


def _cook(lessons: Sequence[Lesson]) -> Prior | None:
    if not lessons:
        return None
    return prior_of(groups()["smoke"].of_next_batch(lessons), len(lessons))


def prior_of(of_rig: Normal, batches: int) -> Prior:
    """The prior of a cook: the rig's unknowns as learned, the fish's as usual."""
    mean, covariance = np.array(usual().mean), np.diag(np.square(usual().sd))
    mean[list(PLACES)] = of_rig.mean
    covariance[np.ix_(PLACES, PLACES)] = of_rig.covariance
    root = np.linalg.cholesky(covariance)
    return Prior(
        mean=tuple(mean.tolist()),
        sd=tuple(np.sqrt(np.diag(covariance)).tolist()),
        batches=batches,
        root=tuple(tuple(row) for row in root.tolist()),
        model_sd=model_sd(batches),
    )


def model_sd(batches: int) -> float:
    """Of the logarithm of a blind smoking time: what no run has.

    A part of it is the rig's. Unknowns that were fitted to a cook take that part up, so with every
    batch that was followed less of it is left: the variance of a normal value read once a batch.
    """
    whole, batch = rules("heat")["smoker"]["model_sd"], rules("rig")["model"]["batch_sd"]
    return math.sqrt(batch**2 + 1.0 / (1.0 / (whole**2 - batch**2) + batches / batch**2))
