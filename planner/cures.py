"""Dry salt and equilibrium cures: the amount of salt is the limit, not the strength of a bath."""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

import numpy as np

from planner.bar import in_bath
from planner.brine import KITCHEN_C, Brine
from planner.brine_said import exact
from planner.diffusion import dose_at_core
from planner.piece import Composition, Piece
from planner.ranges import require_between
from planner.roots import root
from planner.salted import SATURATED_RATIO, Array, Salted, ratio_of, rested, wps_of
from planner.salting import LONGEST_H, Family, family, spread_of, within
from planner.saltwater import require_soluble, water_g_per_ml
from planner.soak import COLDEST_C, WARMEST_C
from planner.sources import rules
from planner.spread import Spread

#: A bath that never weakens: salt lies undissolved on the face.
_ENDLESS = 1e6

Of = Literal["fish", "fish_and_water"]


@lru_cache(maxsize=256)
def dry_salt(
    piece: Piece,
    salt_per_fish_pct: float,
    *,
    hours: float,
    temp_c: float,
    thawed: bool = False,
    drains: bool = True,
) -> Salted:
    """The piece after ``hours`` (0 to 240) under dry salt.

    ``salt_per_fish_pct`` is percent of the fish's weight, 0.1 to 40; ``temp_c`` -2 to 25. The face is
    saturated while salt lies on it; once all has gone in, the rest of the time evens it out.
    ``drains``: brine that forms runs off and takes salt with it; false in a bag, where all of it ends
    in the fish. Diffusivity under dry salt, share taken, water drawn: ``data/diffusivity.toml``.
    Raises OutOfRange.
    """
    _check(salt_per_fish_pct, hours, temp_c)
    runs = family(piece, thawed, dry=True)
    water_end, ratio_end = _end(runs, salt_per_fish_pct, drains)
    endless = np.full_like(ratio_end, _ENDLESS)
    until = runs.hours_to(ratio_end / SATURATED_RATIO, endless, temp_c)
    wet = np.minimum(hours, until)
    got = in_bath(runs.fo(wet, temp_c), runs.aspect, endless)
    raw = piece.composition.water
    done = np.clip(got.mean * SATURATED_RATIO / ratio_end, 0.0, 1.0)
    laid = Salted(
        family=runs,
        mean_ratio=SATURATED_RATIO * got.mean,
        core_ratio=SATURATED_RATIO * got.core,
        face_ratio=SATURATED_RATIO * got.face,
        line_ratio=SATURATED_RATIO * got.line,
        cosines=SATURATED_RATIO * got.cosines,
        water=raw + (water_end - raw) * done,
    )
    return rested(laid, np.asarray(hours - wet), temp_c)


def dry_limit_wps(piece: Piece, salt_per_fish_pct: float, drains: bool = True) -> Spread:
    """WPS [%] once all the dry salt that will go in has gone in."""
    _check(salt_per_fish_pct, 0.0, 0.0)
    return spread_of(wps_of(_end(family(piece, dry=True), salt_per_fish_pct, drains)[1]))


def time_to_take_up(
    piece: Piece, salt_per_fish_pct: float, *, temp_c: float, thawed: bool = False, drains: bool = True
) -> Spread:
    """Hours until the dry salt has gone in; 240 stands for longer. Raises OutOfRange."""
    _check(salt_per_fish_pct, 0.0, temp_c)
    runs = family(piece, thawed, dry=True)
    share = _end(runs, salt_per_fish_pct, drains)[1] / SATURATED_RATIO
    return spread_of(runs.hours_to(share, np.full_like(share, _ENDLESS), temp_c))


def rub_for(piece: Piece, target_wps_pct: float, drains: bool = True) -> Spread:
    """Percent of the fish's weight in dry salt that ends at ``target_wps_pct`` (0.1 to 20), before drying."""
    require_between("target_wps_pct", target_wps_pct, 0.1, 20.0, "%")
    taken, drip = _taken(drains), _drip(drains)
    ratio = ratio_of(target_wps_pct)
    salt_in = ratio * piece.composition.water / (1.0 + ratio * drip)
    return spread_of(100.0 * salt_in / taken)


def equilibrium_brine(
    fish_mass_g: float, water_ml: float, salt_pct: float, of: Of = "fish_and_water", sugar_g: float = 0.0
) -> Brine:
    """The bath of an equilibrium cure: salt as a percentage of fish, or of fish and water together.

    Soak in it as in any brine; it ends at :func:`equilibrium_wps`. Raises OverSaturated where the water
    cannot dissolve that salt: then it is a dry cure (:func:`dry_salt`, ``drains`` false).
    """
    require_between("salt_pct", salt_pct, 0.1, 40.0, "%")
    require_between("fish_mass_g", fish_mass_g, 1.0, 1e6, "g")
    water_g = water_ml * water_g_per_ml(KITCHEN_C)
    salt_g = salt_pct / 100.0 * (fish_mass_g + (water_g if of == "fish_and_water" else 0.0))
    require_soluble(100.0 * salt_g / (salt_g + water_g), 4.0)
    return Brine(exact(salt_g), exact(sugar_g), water_g)


def equilibrium_wps(
    composition: Composition, fish_mass_g: float, water_ml: float, salt_pct: float, of: Of = "fish_and_water"
) -> float:
    """WPS [%] at which an equilibrium cure ends: all its salt in all its water, the fish's included.

    A mass balance; ``water_ml`` may be 0. Raises OutOfRange.
    """
    require_between("salt_pct", salt_pct, 0.0, 40.0, "%")
    require_between("fish_mass_g", fish_mass_g, 1.0, 1e6, "g")
    require_between("water_ml", water_ml, 0.0, 1e7, "ml")
    water_g = water_ml * water_g_per_ml(KITCHEN_C)
    salt_g = salt_pct / 100.0 * (fish_mass_g + (water_g if of == "fish_and_water" else 0.0))
    return 100.0 * salt_g / (salt_g + water_g + fish_mass_g * composition.water)


def time_to_even(piece: Piece, *, temp_c: float, share: float = 0.9, thawed: bool = False) -> Spread:
    """Hours until salt laid on the open faces has its ``share`` (0.1 to 0.99) of the mean at the core.

    :func:`planner.diffusion.dose_at_core`; the sides count for nothing, so a narrow piece is even
    sooner. ``temp_c`` -2 to 25. Raises OutOfRange.
    """
    require_between("share", share, 0.1, 0.99, "-")
    _check(1.0, 0.0, temp_c)
    fo = root(lambda f: float(dose_at_core(f)) - share, 1e-2, 3.0)
    return spread_of(fo / family(piece, thawed).fo(1.0, temp_c))


def _end(runs: Family, salt_per_fish_pct: float, drains: bool) -> tuple[Array, Array]:
    """Water [kg/kg raw fish] and salt ratio once all that will go in has gone in."""
    salt_in = salt_per_fish_pct / 100.0 * _taken(drains)
    raw = runs.piece.composition.water
    water = np.maximum(raw - _drip(drains) * salt_in, 0.5 * raw)
    return water, np.asarray(np.minimum(salt_in / water, 0.99 * SATURATED_RATIO))


def _taken(drains: bool) -> Array:
    taken = within(rules("diffusivity")["taken"]["range"], "taken")
    return taken if drains else np.ones_like(taken)


def _drip(drains: bool) -> Array:
    drip = within(rules("diffusivity")["drip"]["range"], "drip")
    return drip if drains else np.zeros_like(drip)


def _check(salt_per_fish_pct: float, hours: float, temp_c: float) -> None:
    require_between("salt_per_fish_pct", salt_per_fish_pct, 0.1, 40.0, "%")
    require_between("hours", hours, 0.0, LONGEST_H, "h")
    require_between("temp_c", temp_c, COLDEST_C, WARMEST_C, "°C")
