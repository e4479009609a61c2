"""Batches of one rig, as a normal hierarchy with an exact posterior.

The rig has its own values, x ~ N(m, R). Each batch has values about them, x_b ~ N(x, B), and told something
of x_b, kept as a :class:`Lesson` in information form: log p(told | x_b) = h'x_b - x_b'Lx_b / 2 + const. All is
normal, so the posterior is exact (A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, ch. 5 and
sec. 3.5), does not depend on the order of batches, and a batch is forgotten by leaving its lesson out. B
is never learned away: a belief about the next batch never gets surer than that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Digits of a lesson that are kept in the journal.
_DIGITS = 6


@dataclass(frozen=True)
class Normal:
    """A normal belief: mean (dims,) and covariance (dims, dims), as tuples so that it can be remembered by."""

    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]

    @classmethod
    def of(cls, mean: Floats, covariance: Floats) -> Normal:
        """From arrays."""
        return cls(tuple(map(float, mean)), tuple(tuple(map(float, row)) for row in covariance))

    @classmethod
    def apart(cls, mean: Sequence[float], sd: Sequence[float]) -> Normal:
        """Independent values."""
        return cls.of(np.asarray(mean, dtype=float), np.diag(np.square(np.asarray(sd, dtype=float))))

    @cached_property
    def sd(self) -> tuple[float, ...]:
        """Standard deviation of each value."""
        return tuple(float(np.sqrt(self.covariance[i][i])) for i in range(len(self.mean)))


@dataclass(frozen=True)
class Lesson:
    """What one batch told of its own values, in information form: ``pull`` is h, ``precision`` is L."""

    pull: tuple[float, ...]
    precision: tuple[tuple[float, ...], ...]

    @classmethod
    def reading(cls, value: float, sd: float) -> Lesson:
        """One value that was read with a normal error."""
        return cls((value / sd**2,), ((1.0 / sd**2,),))

    @classmethod
    def between(cls, before: Normal, after: Normal) -> Lesson:
        """What must have been told for ``before`` to become ``after``; nothing where that made nothing surer."""
        # In units of the belief before, where what was told cannot be less than nothing.
        root = np.linalg.cholesky(np.array(before.covariance))
        unit = np.linalg.inv(root)
        moved = unit @ (np.array(after.mean) - np.array(before.mean))
        spread = unit @ np.array(after.covariance) @ unit.T
        kept, turn = np.linalg.eigh(0.5 * (spread + spread.T))
        gained = np.maximum(1.0 / np.maximum(kept, 1e-9) - 1.0, 0.0)
        pull = np.where(gained > 0.0, (1.0 + gained) * (turn.T @ moved), 0.0)
        back = unit.T @ turn
        precision = (back * gained) @ back.T
        return cls._of(back @ pull + precision @ np.array(before.mean), precision)

    @classmethod
    def _of(cls, pull: Floats, precision: Floats) -> Lesson:
        return cls(tuple(map(float, pull)), tuple(tuple(map(float, row)) for row in precision))

    @classmethod
    def together(cls, lessons: Iterable[Lesson]) -> Lesson:
        """Several independent lessons about the same values; at least one."""
        found = list(lessons)
        pull = np.sum([np.array(x.pull) for x in found], axis=0)
        return cls._of(pull, np.sum([np.array(x.precision) for x in found], axis=0))

    @property
    def tells(self) -> bool:
        """False where nothing was told."""
        return any(row[i] > 0.0 for i, row in enumerate(self.precision))

    def to_json(self) -> dict[str, Any]:
        """As kept in the journal."""

        def short(x: float) -> float:
            return float(f"{x:.{_DIGITS}g}")

        return {"h": [short(x) for x in self.pull], "l": [[short(x) for x in row] for row in self.precision]}

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> Lesson:
        """As read from the journal."""
        return cls(tuple(map(float, kept["h"])), tuple(tuple(map(float, row)) for row in kept["l"]))


@dataclass(frozen=True)
class Rules:
    """The hierarchy of one group of values: m, R and B, with the names of the values."""

    names: tuple[str, ...]
    rig: Normal
    batch_sd: tuple[float, ...]

    def of_rig(self, lessons: Sequence[Lesson]) -> Normal:
        """The rig's own values after these batches: one precise sum each."""
        first = np.linalg.inv(np.array(self.rig.covariance))
        precision, pull = first.copy(), first @ np.array(self.rig.mean)
        spread = np.diag(np.square(self.batch_sd))
        one = np.eye(len(self.batch_sd))
        for lesson in lessons:
            told = np.array(lesson.precision)
            # (L^-1 + B)^-1 without inverting L, which may tell nothing of some direction.
            shrink = np.linalg.inv(one + told @ spread)
            precision += shrink @ told
            pull += shrink @ np.array(lesson.pull)
        covariance = np.linalg.inv(0.5 * (precision + precision.T))
        return Normal.of(covariance @ pull, 0.5 * (covariance + covariance.T))

    def of_next_batch(self, lessons: Sequence[Lesson]) -> Normal:
        """The next batch's values: the rig's, and what is new every time."""
        rig = self.of_rig(lessons)
        return Normal.of(np.array(rig.mean), np.array(rig.covariance) + np.diag(np.square(self.batch_sd)))
