"""Heat and mass transfer between moving air and a flat piece."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.air import KELVIN, SEA_LEVEL_PA, density_kg_m3
from planner.ranges import require_between
from planner.sources import rules

Floats = NDArray[np.float64]

#: Length of a piece along the air, free height between racks and their width [m].
PIECE_LENGTH_M = 0.2
RACK_GAP_M = 0.1
RACK_WIDTH_M = 0.33

_PRANDTL = 0.71
_CP_AIR = 1006.0
_GRAVITY = 9.81

#: Above this speed air from a fan is turbulent on racks; below, laminar or natural [m/s].
_LAMINAR_UP_TO = 0.3
_TURBULENT_FROM = 0.8


def viscosity_pa_s(air_c: ArrayLike) -> Floats:
    """Dynamic viscosity of air (Sutherland) [Pa s]."""
    t = np.asarray(air_c, dtype=float) + KELVIN
    return np.asarray(1.458e-6 * t**1.5 / (t + 110.4))


def conductivity_w_mk(air_c: ArrayLike) -> Floats:
    """Thermal conductivity of air from viscosity at a Prandtl number of 0.71 [W/mK]."""
    return np.asarray(viscosity_pa_s(air_c) * _CP_AIR / _PRANDTL)


def laminar_plate(wind_m_s: ArrayLike, air_c: ArrayLike, length_m: float = PIECE_LENGTH_M) -> Floats:
    """Mean coefficient of a flat plate in laminar flow [W/m2K], Re below 5e5.

    Incropera, eq. 7.30: Nu = 0.664 Re^1/2 Pr^1/3.
    """
    reynolds = np.asarray(wind_m_s) * length_m * density_kg_m3(air_c) / viscosity_pa_s(air_c)
    nusselt = 0.664 * np.sqrt(reynolds) * _PRANDTL ** (1.0 / 3.0)
    return np.asarray(nusselt * conductivity_w_mk(air_c) / length_m)


def treybal_gap(
    wind_m_s: ArrayLike, air_c: ArrayLike, gap_m: float = RACK_GAP_M, width_m: float = RACK_WIDTH_M
) -> Floats:
    """Coefficient between trays [W/m2K]: Treybal, eq. 12.20, h = 5.90 G^0.71 / d_e^0.29.

    G in kg/m2s; d_e is four times the area by the girth of the gap.
    """
    diameter = 2.0 * gap_m * width_m / (gap_m + width_m)
    flux = np.asarray(wind_m_s) * density_kg_m3(air_c)
    return np.asarray(5.90 * flux**0.71 / diameter**0.29)


def geankoplis_tray(wind_m_s: ArrayLike, air_c: ArrayLike) -> Floats:
    """Coefficient over a tray [W/m2K]: Geankoplis, ch. 9.6, h = 0.0204 G^0.8, G in kg/m2h."""
    flux = np.asarray(wind_m_s) * density_kg_m3(air_c) * 3600.0
    return np.asarray(0.0204 * flux**0.8)


def natural_plate(difference_k: ArrayLike, air_c: ArrayLike, length_m: float = PIECE_LENGTH_M / 4) -> Floats:
    """Mean of the two faces of a level plate in quiet air [W/m2K].

    Incropera, eqs. 9.30 and 9.32: Nu = 0.54 Ra^1/4 and 0.27 Ra^1/4; length is area by perimeter.
    """
    t = np.asarray(air_c, dtype=float)
    kinematic = viscosity_pa_s(t) / density_kg_m3(t)
    rayleigh = _GRAVITY * np.abs(difference_k) * length_m**3 * _PRANDTL / ((t + KELVIN) * kinematic * kinematic)
    return np.asarray(0.405 * rayleigh**0.25 * conductivity_w_mk(t) / length_m)


def forced(wind_m_s: ArrayLike, air_c: ArrayLike) -> Floats:
    """Forced coefficient of air at ``wind_m_s`` (0..10) over fish on racks [W/m2K].

    Fan air on racks is turbulent: the mean of Treybal and Geankoplis. Slow air is laminar. Between
    them the share grows with the logarithm of the speed.
    """
    wind = np.asarray(wind_m_s, dtype=float)
    require_between("wind_m_s", float(np.min(wind)), 0.0, 10.0, "m/s")
    require_between("wind_m_s", float(np.max(wind)), 0.0, 10.0, "m/s")
    share = turbulent_share(wind)
    turbulent = 0.5 * (treybal_gap(wind, air_c) + geankoplis_tray(wind, air_c))
    return np.asarray(share * turbulent + (1.0 - share) * laminar_plate(wind, air_c))


def turbulent_share(wind_m_s: ArrayLike) -> Floats:
    """0 in slow air, 1 in a fan's [-]."""
    wind = np.maximum(np.asarray(wind_m_s, dtype=float), 1e-6)
    span = np.log(_TURBULENT_FROM / _LAMINAR_UP_TO)
    return np.asarray(np.clip(np.log(wind / _LAMINAR_UP_TO) / span, 0.0, 1.0))


def convective(wind_m_s: ArrayLike, air_c: ArrayLike, difference_k: ArrayLike) -> Floats:
    """Forced and natural convection together, added by cubes [W/m2K]."""
    natural = natural_plate(difference_k, air_c)
    return np.asarray(np.cbrt(forced(wind_m_s, air_c) ** 3 + natural**3))


def mass_transfer(heat_transfer: ArrayLike, air_c: ArrayLike, pressure: float = SEA_LEVEL_PA) -> Floats:
    """Mass-transfer coefficient that goes with ``heat_transfer`` W/m2K [m/s].

    Chilton and Colburn: h_m = h / (rho cp Le^2/3) (Incropera, eq. 6.60).
    """
    return np.asarray(np.asarray(heat_transfer) / (density_kg_m3(air_c, pressure) * _heat_per_volume()))


@cache
def _heat_per_volume() -> float:
    return float(_CP_AIR * rules("heat")["lewis_number"]["value"] ** (2.0 / 3.0))
