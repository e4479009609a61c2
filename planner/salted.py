"""A piece with salt in it: how much, where, and what rest and loss of water make of it.

Water-phase salt (WPS) is 100 salt / (salt + water), never percent of the moisture. Results are 80 %
ranges over what nobody knows exactly; the low end is the one for anything about safety.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.piece import Piece
from planner.ranges import require_between
from planner.salting import LONGEST_H, Family, around, spread_of, within
from planner.sources import rules
from planner.spread import Spread
from planner.units import SATURATED_PCT

Array = NDArray[np.float64]

#: Salt to water in saturated brine [kg/kg].
SATURATED_RATIO = SATURATED_PCT / (100.0 - SATURATED_PCT)


@dataclass(frozen=True, eq=False)
class Salted:
    """A salted piece, one entry a run of its family, the best guess first.

    ``..._ratio`` are salt to water [kg/kg]: ``mean`` of the piece, ``core`` at its deepest point (the
    middle, or the sealed face), ``face`` at the open face, ``line`` the mean from core to face,
    ``cosines`` the course along that line. ``water`` is kg a kg of raw fish.
    """

    family: Family
    mean_ratio: Array
    core_ratio: Array
    face_ratio: Array
    line_ratio: Array
    cosines: Array
    water: Array

    @property
    def mean(self) -> Spread:
        """Mean WPS [%]."""
        return spread_of(wps_of(self.mean_ratio))

    @property
    def core(self) -> Spread:
        """WPS at the deepest point [%]."""
        return spread_of(wps_of(self.core_ratio))

    @property
    def surface(self) -> Spread:
        """WPS at the open face [%]."""
        return spread_of(wps_of(self.face_ratio))

    def along(self, places: Array) -> Array:
        """Best guess of the WPS [%] at ``places`` of the line from the deepest point (0) to the open face (1).

        The cosines, and for those that are left out the course of x^2 / 2, whose slope at the face they share.
        """
        order = np.arange(1, len(self.cosines) + 1)
        signs = (-1.0) ** order
        cosines = self.cosines[:, 0]
        face_rest = self.face_ratio[0] - self.line_ratio[0] - (signs * cosines).sum()
        square = 2.0 * signs / (order * np.pi) ** 2  # cosine coefficients of x^2 / 2, whose mean is 1/6

        def rest(x: Array) -> Array:
            return np.asarray(x**2 / 2.0 - 1.0 / 6.0 - square @ np.cos(np.outer(order, x) * np.pi))

        waves = cosines @ np.cos(np.outer(order, places) * np.pi)
        ratio = self.line_ratio[0] + waves + face_rest * rest(places) / rest(np.ones(1))
        if self.face_ratio[0] >= self.core_ratio[0]:  # then salt only falls on the way in; early on, waves would not
            inward = np.argsort(-places)
            ratio[inward] = np.minimum.accumulate(ratio[inward])
        return wps_of(np.clip(ratio, 0.0, SATURATED_RATIO))

    @property
    def mass(self) -> Array:
        """Mass now, kg a kg of raw fish."""
        return 1.0 + self.water - self.family.piece.composition.water + self.salt

    @property
    def salt(self) -> Array:
        """Salt, kg a kg of raw fish."""
        return self.mean_ratio * self.water

    @property
    def salt_pct(self) -> Spread:
        """Salt in percent of the piece's mass."""
        return spread_of(100.0 * self.salt / self.mass)

    @property
    def weight_change_pct(self) -> Spread:
        """Weight gained (lost: negative) in percent of the raw weight."""
        return spread_of(100.0 * (self.mass - 1.0))


@dataclass(frozen=True)
class Packed:
    """WPS [%] of the finished piece: its mean and its deepest point."""

    mean: Spread
    core: Spread


def wps(salt: float, water: float) -> float:
    """Water-phase salt [%] from salt and water in any one unit of mass; water > 0.

    The definition of the rules for smoked fish: 100 salt / (salt + moisture).
    """
    require_between("salt", salt, 0.0, 1e9, "")
    require_between("water", water, 1e-9, 1e9, "")
    return 100.0 * salt / (salt + water)


def salt_for_wps(wps_pct: float, water: float) -> float:
    """Salt that gives ``water`` (any unit of mass) this WPS, 0 to 26.4 %: the inverse of :func:`wps`."""
    return ratio_of(wps_pct) * water


def wps_of(ratio: Array) -> Array:
    """WPS [%] from salt to water [kg/kg]."""
    return 100.0 * ratio / (1.0 + ratio)


def ratio_of(wps_pct: float) -> float:
    """Salt to water [kg/kg] from WPS, 0 to 26.4 %."""
    require_between("wps_pct", wps_pct, 0.0, 26.4, "%")
    return wps_pct / (100.0 - wps_pct)


def wps_after_loss(salted: Salted, loss_pct: Spread) -> Packed:
    """WPS once drying and smoking have taken ``loss_pct`` percent of the salted piece's weight, all water.

    Salt stays. The core loses less water than the mean (data: ``core_loss``, our judgement). Nothing
    gets saltier than saturated. Raises OutOfRange where the best guess is over 90 % of the water.
    """
    most_pct = 90.0 * float(salted.water[0] / salted.mass[0])
    require_between("loss_pct", loss_pct.low, 0.0, most_pct, "% of the weight")
    require_between("loss_pct", loss_pct.mid, 0.0, most_pct, "% of the weight")
    most = 0.95 * salted.water
    gone = np.clip(around(loss_pct, "loss") / 100.0 * salted.mass, 0.0, most)
    share = within(rules("diffusivity")["core_loss"]["range"], "core_loss")
    mean = salted.mean_ratio * salted.water / (salted.water - gone)
    core = salted.core_ratio * salted.water / (salted.water - share * gone)
    return Packed(
        mean=spread_of(wps_of(np.minimum(mean, SATURATED_RATIO))),
        core=spread_of(wps_of(np.minimum(core, SATURATED_RATIO))),
    )


def wps_before_loss(packed_wps_pct: float, piece: Piece, loss_pct: float) -> float:
    """Mean WPS [%] that the salted piece needs so that it has ``packed_wps_pct`` after the loss of water.

    ``loss_pct`` is percent of the salted weight. Water gained or lost in the brine is left out (1 %).
    """
    ratio = ratio_of(packed_wps_pct)
    water = piece.composition.water
    lost = require_between("loss_pct", loss_pct, 0.0, 90.0 * water, "% of the weight") / 100.0
    before = ratio * (water - lost) / (water * (1.0 + ratio * lost))
    return 100.0 * before / (1.0 + before)


def loss_for_wps(salted_salt_pct: float, salted_water_pct: float, packed_wps_pct: float) -> float:
    """Percent of the salted weight that must go as water to reach ``packed_wps_pct``.

    Salt and water of the salted piece in percent of its weight; negative where it is salty enough.
    """
    return salted_water_pct - salted_salt_pct / ratio_of(packed_wps_pct)


def even_out(salted: Salted, hours: float, temp_c: float) -> Salted:
    """The piece after ``hours`` (0 to 240) of rest at ``temp_c`` (-2 to 95 °C), no salt in or out.

    Cosines die away by exp(-n^2 pi^2 D t / l^2) (J. Crank, The Mathematics of Diffusion, 2nd ed., 1975,
    section 4.3.1, no flow through the faces), across the width likewise.
    """
    require_between("hours", hours, 0.0, LONGEST_H, "h")
    return rested(salted, np.full_like(salted.water, hours), temp_c)


def rested(salted: Salted, hours: Array, temp_c: float) -> Salted:
    """:func:`even_out` with its own hours for each run."""
    fo = salted.family.fo(hours, temp_c)
    order = np.arange(1, len(salted.cosines) + 2)[:, None]
    decay = np.exp(-((order * np.pi) ** 2) * fo)
    signs = (-1.0) ** order
    core_rest = salted.core_ratio - salted.line_ratio - salted.cosines.sum(axis=0)
    face_rest = salted.face_ratio - salted.line_ratio - (signs[:-1] * salted.cosines).sum(axis=0)
    across = np.exp(-((np.pi * salted.family.aspect) ** 2) * fo)
    line = salted.mean_ratio + (salted.line_ratio - salted.mean_ratio) * across
    cosines = salted.cosines * decay[:-1]
    return replace(
        salted,
        line_ratio=line,
        cosines=cosines,
        core_ratio=line + cosines.sum(axis=0) + core_rest * decay[-1],
        face_ratio=line + (signs[:-1] * cosines).sum(axis=0) + face_rest * decay[-1],
    )
