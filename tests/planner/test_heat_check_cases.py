"""Published and independently computed figures for heat and air, row by row.

``tests/reference/heat_check_cases.csv`` names the source of each and the reason where one is not run.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import psychrolib
import pytest

from planner import air, water_activity
from planner.convection import laminar_plate
from planner.drying import cooper_linton_h
from planner.properties import component, mixture, thermal
from planner.slab import Surroundings, solve, time_steps
from tests.planner import test_textbook_examples as textbook
from tests.planner.given import SALMON, bare_slab, one
from tests.planner.tables import rows
from tests.planner.test_slab import salmon, smoker

ROWS = {r["id"]: r for r in rows("heat_check_cases")}


@cache
def wet_fillet() -> tuple[float, float]:
    """Temperature and evaporation [kg/m2h] of a fillet that stays wet at aw 0.97, 20 degC, 50 %, 1 m/s."""
    times = time_steps(4 * 3600.0)
    whole = np.ones((len(times), 1))
    around = Surroundings(
        air_c=20.0 * whole,
        vapour_pa=air.vapour_pa(air.humidity_ratio(20.0, 50.0)) * whole,
        forced=laminar_plate(1.0, 20.0) * whole,
        natural=0.0 * whole,
        emissivity=one(0.9),
        factor=one(1.0),
        wet=True,
    )
    # A salt that makes the activity 0.97 in plenty of water.
    slab = replace(bare_slab(0.0125, 0.49, 1.4e-7, 15.0), water0=one(1e3), solid_kg_m2=one(1e-2), salt=one(53.6))
    course = solve(slab, times, around, 8, 1)
    rate = np.diff(course.lost_kg_m2[-2:, 0])[0] / np.diff(times[-2:])[0] * 3600.0
    return float(course.surface_c[-1, 0]), float(rate)


@cache
def baseline(wet: bool = False) -> tuple[float, float]:
    """Core [degC] and loss [%] of 25 mm salmon after 4 h in air of 80 degC, W 0.030, 0.3 m/s."""
    times = time_steps(4 * 3600.0, longest_s=60.0)
    course = solve(salmon(wps_pct=0.0), times, smoker(len(times), wet=wet))
    mass = thermal(SALMON, 40.0).rho * 0.0125
    return float(course.core_c[-1, 0]), float(100 * course.lost_kg_m2[-1, 0] / mass)


def heated(seconds: float) -> float:
    return textbook.slab_at(0.0125, 0.4927, 1.40017e-7, 5.0, 80.0, 15.0, seconds, 1)


def cooled_h(depth_m: float, mark_c: float) -> float:
    return textbook.slab_time(depth_m, 0.4828, 1.3702e-7, 70.0, 4.0, 10.0, mark_c, 12 * 3600.0) / 3600


def tuna_fourier() -> float:
    """One-term cylinder, surface at 0 degC, centre from 28 to 5 (Incropera, table 5.1, infinite Bi)."""
    zeta, c = 2.4048, 1.6020
    return float(np.log(c * 28.0 / 5.0) / zeta**2)


def usda(water: float, protein: float, fat: float, ash: float) -> dict[str, float]:
    return {"water": water, "protein": protein, "fat": fat, "ash": ash}


COD, MACKEREL = usda(81.22, 17.81, 0.67, 1.16), usda(63.55, 18.60, 13.89, 1.35)

ANSWERS: dict[str, Callable[[], float]] = {
    "AW01": lambda: float(water_activity.of_salt(3.5)),
    "AW02": lambda: float(water_activity.of_salt(5.0)),
    "AW03": lambda: float(water_activity.of_salt(10.0)),
    "AW04": lambda: water_activity.of_salted_fish(100 * 0.05844 / 1.05844),
    "PS01": lambda: air.wet_bulb_c(25.0, air.humidity_ratio(25.0, 50.0)),
    "PS02": lambda: air.wet_bulb_c(65.6, 0.010),
    "PS03": lambda: psychrolib.GetHumRatioFromTWetBulb(60.0, 29.5, 101325.0),
    "PS04": lambda: air.wet_bulb_c(80.0, air.humidity_ratio(15.0, 60.0)),
    "DR01": textbook.ANSWERS["pan_9_6_3_rate"],
    "DR02": textbook.ANSWERS["treybal_12_4_rate"],
    "DR04": lambda: cooper_linton_h(15.0, 60.0, 1.0),
    "DR05": lambda: cooper_linton_h(27.0, 60.0, 2.5),
    "DR06T": lambda: wet_fillet()[0],
    "DR06N": lambda: wet_fillet()[1],
    "DR07": textbook.ANSWERS["falling_9_7_2"],
    "DR08": textbook.ANSWERS["wood_9_9_1"],
    "TH01": lambda: mixture(COD, 20.0).cp,
    "TH02k": lambda: thermal(SALMON, 20.0).k,
    "TH02rho": lambda: thermal(SALMON, 20.0).rho,
    "TH03": lambda: mixture(MACKEREL, 20.0).cp,
    "TH04": lambda: component("k", "water", 1.0),
    "HE01": textbook.ANSWERS["incropera_5_4"],
    "HE05a": lambda: heated(3600.0),
    "HE05b": lambda: heated(7200.0),
    "HE06": lambda: baseline(wet=True)[0],
    "HE07core": lambda: baseline()[0],
    "HE07loss": lambda: baseline()[1],
    "CO01": textbook.ANSWERS["beef"],
    "CO02": lambda: cooled_h(0.0125, 21.0),
    "CO03": lambda: cooled_h(0.0125, 5.0),
    "CO04": lambda: cooled_h(0.030, 21.0),
    "CO05": tuna_fourier,
}


@pytest.mark.parametrize("key", [k for k, r in ROWS.items() if not r["reason"]])
def test_case(key: str) -> None:
    row = ROWS[key]
    assert ANSWERS[key]() == pytest.approx(float(row["expected"]), abs=float(row["tol"]))


def test_every_case_is_run_or_says_why_not() -> None:
    assert set(ANSWERS) == {k for k, r in ROWS.items() if not r["reason"]}
