"""What nobody knows exactly when fish takes up salt, as a family of equally likely runs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from planner.bar import in_bath
from planner.bell_curve import normal_scores
from planner.piece import Composition, Piece
from planner.ranges import require_between
from planner.sources import rules
from planner.spread import Spread

Array = NDArray[np.float64]

#: Runs in a family, beside the one with every unknown in its middle, which comes first.
RUNS = 64
#: Longest soak, cure or rest that the sums cover, and the shortest that is worth a sum [h].
LONGEST_H, SHORTEST_H = 240.0, 1e-4
#: Temperatures for which the diffusivity holds: raw fish, and fish in the smoke.
COLDEST_C, WARMEST_C = -2.0, 95.0

_SECANT_STEPS = 6
_GAS_CONSTANT = 8.314e-3  # kJ/(mol K)
_AT_K = 278.15  # 5 °C, where the data stand
_UNKNOWNS = (
    "diffusivity",
    "thawed",
    "activation",
    "partition",
    "depth",
    "width",
    "salt",
    "water",
    "loss",
    "core_loss",
    "taken",
    "drip",
)
#: z of the ends of an 80 % range.
_Z80 = 1.2815515655446004


@dataclass(frozen=True, eq=False)
class Family:
    """A piece of fish with its unknowns drawn, one entry a run, the best guess first.

    ``diffusivity_5c`` is salt's in m2/s at 5 °C, ``depth_mm`` what salt crosses below an open face (the
    whole thickness where one face is sealed, else half), ``aspect`` that over half the width.
    """

    piece: Piece
    diffusivity_5c: Array
    activation_kj_mol: Array
    partition: Array
    depth_mm: Array
    aspect: Array

    def diffusivity(self, temp_c: float) -> Array:
        """Diffusivity of salt [m2/s] at ``temp_c`` (-2 to 95 °C): Arrhenius from 5 °C."""
        t = require_between("temp_c", temp_c, COLDEST_C, WARMEST_C, "°C") + 273.15
        colder = (1.0 / t - 1.0 / _AT_K) / _GAS_CONSTANT
        return np.asarray(self.diffusivity_5c * np.exp(-self.activation_kj_mol * colder))

    def fo(self, hours: float | Array, temp_c: float) -> Array:
        """Fourier number of ``hours`` at ``temp_c``."""
        return self.diffusivity(temp_c) * hours * 3600.0 / (self.depth_mm / 1000.0) ** 2

    def hours_to(self, share: Array, alpha: Array, temp_c: float) -> Array:
        """Hours to ``share`` of the final uptake from a bath; LONGEST_H where it takes longer or cannot be.

        The secant on log(-log(1 - share)) over log time, which is close to straight from the early law
        (share ~ root of time) to the late one (the rest dies away), within the bracket left so far.
        """
        per_hour = self.fo(1.0, temp_c)

        def height(log_hours: Array) -> Array:
            got = in_bath(per_hour * np.exp(log_hours), self.aspect, alpha).mean
            return _straightened(got)

        low, high = np.full_like(share, np.log(SHORTEST_H)), np.full_like(share, np.log(LONGEST_H))
        goal = _straightened(share)
        never = (share >= 1.0) | (height(high) < goal)
        now = np.clip(2.0 * goal - np.log(per_hour), low, high)
        last, last_miss, slope = now, np.zeros_like(now), np.full_like(now, 0.5)
        for _ in range(_SECANT_STEPS):
            miss = height(now) - goal
            low, high = np.where(miss < 0.0, now, low), np.where(miss < 0.0, high, now)
            moved = np.abs(now - last) > 1e-9
            slope = np.where(moved, (miss - last_miss) / np.where(moved, now - last, 1.0), slope)
            last, last_miss = now, miss
            step = now - miss / np.maximum(slope, 0.1)
            now = np.where((step > low) & (step < high), step, 0.5 * (low + high))
        return np.where(never, LONGEST_H, np.exp(now))


@cache
def family(piece: Piece, thawed: bool = False, dry: bool = False) -> Family:
    """The runs for a piece; ``thawed`` raises the diffusivity, ``dry`` is salt without water."""
    data = rules("diffusivity")
    kind = "dry_salt" if dry else "fatty" if is_fatty(piece.composition) else "lean"
    diffusivity = within(data[kind]["range"], "diffusivity")
    if thawed:
        diffusivity = diffusivity * within(data["thawed"]["range"], "thawed")
    depth = piece.thickness_mm / piece.open_faces * within(data["depth"]["range"], "depth")
    if piece.width_mm is None:
        width = within(data["width_mm"]["range"], "width")
    else:
        width = piece.width_mm * within(data["width_as_said"]["range"], "width")
    return Family(
        piece=piece,
        diffusivity_5c=diffusivity,
        activation_kj_mol=within(data["activation_kj_mol"]["range"], "activation"),
        partition=within(data["partition"]["range"], "partition"),
        depth_mm=depth,
        aspect=np.minimum(2.0 * depth / width, 20.0),
    )


def is_fatty(composition: Composition) -> bool:
    """True where the fat is enough to slow salt (more than 8 % by mass)."""
    return composition.fat > float(rules("diffusivity")["fatty"]["fat_above"])


def within(ends: list[float], unknown: str) -> Array:
    """Runs over a whole range [low, middle, high], evenly in the logarithm on each side."""
    return np.asarray(np.exp(np.interp(_draws(unknown), [0.0, 0.5, 1.0], np.log(ends))))


def around(spread: Spread, unknown: str) -> Array:
    """Runs of a quantity known as an 80 % range: half a normal bell on each side of the middle."""
    z = normal_scores(_draws(unknown)) / _Z80
    return np.asarray(
        np.where(z < 0.0, spread.mid + z * (spread.mid - spread.low), spread.mid + z * (spread.high - spread.mid))
    )


def spread_of(runs: Array) -> Spread:
    """Best guess (the run with every unknown in its middle) and the 10 % and 90 % of the others."""
    guess = float(runs[0])
    low, high = (float(end) for end in np.quantile(runs[1:], [0.1, 0.9]))
    return Spread(min(low, guess), guess, max(high, guess))


def _draws(unknown: str) -> Array:
    """Evenly spread numbers in (0, 1) for one unknown, the same every time."""
    return np.asarray(_design()[_UNKNOWNS.index(unknown)])


@cache
def _design() -> Array:
    """One row of evenly spread numbers for each unknown, next to uncorrelated between rows; first a 1/2.

    An additive recurrence on the generalised golden ratio (M. Roberts, The unreasonable effectiveness of
    quasirandom sequences, 2018), its rank correlation taken out (R. L. Iman, W. J. Conover, Commun.
    Stat. B 11, 1982), each row laid on the middles of equal strips.
    """
    axes = len(_UNKNOWNS)
    golden = 2.0
    for _ in range(40):
        golden = (1.0 + golden) ** (1.0 / (axes + 1))
    steps = golden ** -np.arange(1.0, axes + 1.0)[:, None]
    points = np.mod(0.5 + steps * np.arange(1, RUNS + 1), 1.0)
    for _ in range(5):
        scores = normal_scores(points)
        whitened = np.linalg.solve(np.linalg.cholesky(np.corrcoef(scores)), scores)
        points = (whitened.argsort(axis=1).argsort(axis=1) + 0.5) / RUNS
    return np.hstack([np.full((axes, 1), 0.5), points])


def _straightened(share: Array) -> Array:
    return np.asarray(np.log(-np.log1p(-np.clip(share, 1e-9, 1.0 - 1e-9))))
