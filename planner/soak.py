"""Fish in brine: salt over time, time to a strength, strength for a time.

Salt diffuses into the water of the flesh from a stirred bath of limited volume, through one face or
two and through the cut sides; skin counts as sealed. What nobody knows exactly (diffusivity, width,
partition and the like, ``data/diffusivity.toml``) is drawn as a family of runs.

The 80 % range is meant as a forecast of a piece of which only what was said is known: over pieces of
finite width whose diffusivity lies anywhere in the published range and whose water moves, the true
mean lies inside four times of five.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner import saltwater
from planner.bar import in_bath
from planner.brine import KITCHEN_C, Brine
from planner.piece import Piece
from planner.ranges import require_between
from planner.salted import SATURATED_RATIO, Salted, ratio_of, wps_of
from planner.salting import LONGEST_H, SHORTEST_H, Family, around, family, spread_of
from planner.sources import rules
from planner.spread import Spread

Array = NDArray[np.float64]

#: Bath temperatures for which the sums hold [°C]; what is safe is stricter.
COLDEST_C, WARMEST_C = -2.0, 25.0


@lru_cache(maxsize=256)
def soak(
    piece: Piece,
    brine: Brine,
    fish_mass_g: float,
    *,
    hours: float,
    temp_c: float,
    thawed: bool = False,
    start_wps_pct: float = 0.0,
) -> Salted:
    """The piece after ``hours`` (0 to 240) in ``brine`` at ``temp_c`` (-2 to 25), with all the fish in it.

    ``start_wps_pct`` is the salt it had, even throughout; a brine weaker than that draws salt out.
    Diffusion as in :func:`planner.bar.in_bath`, on the ratio of salt to water; diffusivity and its
    range from ``data/diffusivity.toml``. Raises OutOfRange.
    """
    return soak_runs(
        family(piece, thawed),
        brine,
        fish_mass_g,
        hours=hours,
        temp_c=temp_c,
        start_wps_pct=start_wps_pct,
    )


def soak_runs(
    runs: Family,
    brine: Brine,
    fish_mass_g: float,
    *,
    hours: float,
    temp_c: float,
    start_wps_pct: float = 0.0,
) -> Salted:
    """:func:`soak` for a family whose unknowns somebody chose."""
    _check_bath(hours, temp_c)
    bath = _Bath.of(runs, brine, fish_mass_g)
    start = ratio_of(start_wps_pct)
    got = in_bath(runs.fo(hours, temp_c), runs.aspect, bath.alpha)
    gain = (runs.partition * bath.ratio - start) * bath.kept
    return Salted(
        family=runs,
        mean_ratio=start + gain * got.mean,
        core_ratio=start + gain * got.core,
        face_ratio=start + gain * got.face,
        line_ratio=start + gain * got.line,
        cosines=gain * got.cosines,
        water=runs.piece.composition.water * (1.0 + _swelling(brine) * got.mean),
    )


def limit_wps(piece: Piece, brine: Brine, fish_mass_g: float) -> Spread:
    """WPS [%] that the fish ends at in this brine, however long it stays."""
    runs = family(piece)
    bath = _Bath.of(runs, brine, fish_mass_g)
    return spread_of(wps_of(runs.partition * bath.ratio * bath.kept))


def time_to_wps(
    piece: Piece,
    brine: Brine,
    fish_mass_g: float,
    target_wps_pct: float,
    *,
    temp_c: float,
    thawed: bool = False,
) -> Spread | None:
    """Hours until the mean WPS at pull is ``target_wps_pct``; None where the bath will not give it.

    None also where the best guess is over 240 h; :func:`limit_wps` says what the bath can give. A
    high end of 240 h means "not within ten days". Raises OutOfRange.
    """
    runs = family(piece, thawed)
    _check_bath(0.0, temp_c)
    bath = _Bath.of(runs, brine, fish_mass_g)
    share = ratio_of(target_wps_pct) / np.maximum(runs.partition * bath.ratio * bath.kept, 1e-12)
    hours = runs.hours_to(share, bath.alpha, temp_c)
    found = spread_of(hours)
    return found if found.mid < LONGEST_H else None


def strength_for(
    piece: Piece,
    fish_mass_g: float,
    water_ml: float,
    target_wps_pct: float,
    *,
    hours: float,
    temp_c: float,
    thawed: bool = False,
) -> Spread | None:
    """Percent salt of the (sugar-free) brine that gives ``target_wps_pct`` at pull in just ``hours``.

    None where the best guess is more than dissolves. The high end stops at saturation. Sum as in
    :func:`soak`, which is linear in the brine's salt. Raises OutOfRange.
    """
    require_between("hours", hours, SHORTEST_H, LONGEST_H, "h")
    require_between("water_ml", water_ml, 10.0, 1e6, "ml")
    _check_bath(hours, temp_c)
    runs = family(piece, thawed)
    alpha = _alpha(runs, water_ml * saltwater.water_g_per_ml(KITCHEN_C), fish_mass_g)
    got = in_bath(runs.fo(hours, temp_c), runs.aspect, alpha).mean * alpha / (1.0 + alpha)
    needed = ratio_of(target_wps_pct) / np.maximum(runs.partition * got, 1e-12)
    if float(needed[0]) > SATURATED_RATIO:
        return None
    return spread_of(wps_of(np.minimum(needed, SATURATED_RATIO)))


def brine_after(brine: Brine, fish_mass_g: float, salted: Salted, start_wps_pct: float = 0.0) -> Spread:
    """Percent salt, of salt and water, left in the bath once the fish has taken up what ``salted`` holds.

    A balance: what the fish gained in salt and water, the bath lost.
    """
    raw = salted.family.piece.composition.water
    salt_g = around(brine.salt_g, "salt") - fish_mass_g * (salted.salt - raw * ratio_of(start_wps_pct))
    water_g = brine.water_g - fish_mass_g * (salted.water - raw)
    return spread_of(100.0 * salt_g / (salt_g + water_g))


@dataclass(frozen=True, eq=False)
class _Bath:
    """The bath as each run sees it: salt to water, and its water to the fish's."""

    ratio: Array
    alpha: Array

    @property
    def kept(self) -> Array:
        """Share of the bath's strength that is left at rest."""
        return np.asarray(self.alpha / (1.0 + self.alpha))

    @classmethod
    def of(cls, runs: Family, brine: Brine, fish_mass_g: float) -> _Bath:
        ratio = np.clip(around(brine.salt_g, "salt") / brine.water_g, 0.0, SATURATED_RATIO)
        return cls(ratio, _alpha(runs, brine.water_g, fish_mass_g))


def _alpha(runs: Family, water_g: float, fish_mass_g: float) -> Array:
    require_between("fish_mass_g", fish_mass_g, 1.0, 1e6, "g")
    alpha = water_g / (runs.partition * fish_mass_g * runs.piece.composition.water)
    require_between("water of the brine to water of the fish", float(alpha.min()), 0.02, 1e6, "")
    return np.minimum(alpha, 1e6)


def _check_bath(hours: float, temp_c: float) -> None:
    require_between("hours", hours, 0.0, LONGEST_H, "h")
    require_between("temp_c of the brine", temp_c, COLDEST_C, WARMEST_C, "°C")


def _swelling(brine: Brine) -> Array:
    """Change of the flesh's water at rest in this brine, as a share of what it had."""
    data = rules("diffusivity")["water"]
    change = float(np.interp(brine.water_phase_pct.mid, data["brine_pct"], data["change"]))
    give = float(data["spread"])
    return around(Spread(change - give, change, change + give), "water")
