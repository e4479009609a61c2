"""Moist air: humidity, wet bulb, dew point, pressure by altitude."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import psychrolib
from numpy.typing import ArrayLike, NDArray

from planner.ranges import require_between

psychrolib.SetUnitSystem(psychrolib.SI)

SEA_LEVEL_PA = 101325.0
KELVIN = 273.15
_GAS_CONSTANT_WATER = 461.5  # J/(kg K)
_GAS_CONSTANT_AIR = 287.05


def pressure_pa(altitude_m: float) -> float:
    """Air pressure at ``altitude_m`` (-400..5000 m), standard atmosphere [Pa]."""
    require_between("altitude_m", altitude_m, -400.0, 5000.0, "m")
    return float(psychrolib.GetStandardAtmPressure(altitude_m))


def humidity_ratio(air_c: float, rh_pct: float, pressure: float = SEA_LEVEL_PA) -> float:
    """Water in air of ``air_c`` (-30..130 degC) and ``rh_pct`` (0..100 %) [kg per kg dry air].

    ASHRAE Fundamentals, ch. Psychrometrics.
    """
    require_between("air_c", air_c, -30.0, 130.0, "degC")
    require_between("rh_pct", rh_pct, 0.0, 100.0, "%")
    return float(psychrolib.GetHumRatioFromRelHum(air_c, rh_pct / 100.0, pressure))


def wet_bulb_c(air_c: float, humidity: float, pressure: float = SEA_LEVEL_PA) -> float:
    """Wet-bulb temperature of air with ``humidity`` kg water per kg dry air [degC]."""
    return float(psychrolib.GetTWetBulbFromHumRatio(air_c, humidity, pressure))


def dew_point_c(air_c: float, rh_pct: float) -> float:
    """Temperature below which a surface in this air gathers dew [degC]; ``rh_pct`` 1..100."""
    require_between("rh_pct", rh_pct, 1.0, 100.0, "%")
    return float(psychrolib.GetTDewPointFromRelHum(air_c, rh_pct / 100.0))


def vapour_pa(humidity: ArrayLike, pressure: float = SEA_LEVEL_PA) -> NDArray[np.float64]:
    """Partial pressure of the water vapour at ``humidity`` kg per kg dry air [Pa]."""
    w = np.asarray(humidity, dtype=float)
    return np.asarray(w * pressure / (0.621945 + w))


def density_kg_m3(air_c: ArrayLike, pressure: float = SEA_LEVEL_PA) -> NDArray[np.float64]:
    """Density of dry air [kg/m3]."""
    return np.asarray(pressure / (_GAS_CONSTANT_AIR * (np.asarray(air_c, dtype=float) + KELVIN)))


def vapour_density(vapour: ArrayLike, air_c: ArrayLike) -> NDArray[np.float64]:
    """Density of water vapour of pressure ``vapour`` Pa at ``air_c`` [kg/m3]."""
    t = np.asarray(air_c, dtype=float) + KELVIN
    return np.asarray(np.asarray(vapour, dtype=float) / (_GAS_CONSTANT_WATER * t))


def latent_heat(surface_c: ArrayLike) -> NDArray[np.float64]:
    """Heat of evaporation of water at ``surface_c`` 0..110 degC [J/kg]; linear, within 0.3 %."""
    return np.asarray(2.5009e6 - 2.39e3 * np.asarray(surface_c, dtype=float))


@lru_cache(maxsize=1)
def saturation_fit() -> tuple[float, float, float, float]:
    """Coefficients of ln p = sum c_i (1/T)^i [Pa, K], fitted to the ASHRAE formula over 0..120 degC.

    The solver needs thousands of values at once; psychrolib gives one at a time.
    """
    t = np.linspace(0.02, 120.0, 121)
    exact = [np.log(psychrolib.GetSatVapPres(float(x))) for x in t]
    fit = np.polynomial.Polynomial.fit(1.0 / (t + KELVIN), exact, 3).convert().coef
    return float(fit[0]), float(fit[1]), float(fit[2]), float(fit[3])


def saturation_pa(surface_c: ArrayLike) -> NDArray[np.float64]:
    """Saturation pressure over liquid water at ``surface_c`` (-10..120 degC), for arrays [Pa]."""
    a, b, c, d = saturation_fit()
    u = 1.0 / (np.asarray(surface_c, dtype=float) + KELVIN)
    return np.asarray(np.exp(a + u * (b + u * (c + u * d))))
