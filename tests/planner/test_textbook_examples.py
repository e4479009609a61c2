"""Worked examples of textbooks, each by the exact series and, where it is a slab, by the solver.

``tests/reference/textbook_examples.csv`` names book, example, printed answer and exact value.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import psychrolib
import pytest
from scipy.optimize import brentq

from planner import air, convection
from planner.slab import Surroundings, solve, time_steps
from tests.planner import exact_series as exact
from tests.planner.given import bare_slab, one, plain_air
from tests.planner.tables import rows

ROWS = {r["id"]: r for r in rows("textbook_examples")}


def slab_at(depth_m, k, alpha, start_c, air_c, h, seconds, place):
    """The solver's temperature at ``place`` (0 open face, 1 back) after ``seconds``."""
    times = time_steps(seconds, longest_s=seconds / 150, first_s=seconds / 3000, growth=1.1)
    course = solve(bare_slab(depth_m, k, alpha, start_c), times, plain_air(air_c, h, len(times)), 24)
    return float(course.surface_c[-1, 0] if place == 0 else course.at(place)[-1, 0])


def slab_time(depth_m, k, alpha, start_c, air_c, h, mark_c, longest_s):
    times = time_steps(longest_s, longest_s=longest_s / 400, first_s=longest_s / 4000, growth=1.1)
    course = solve(bare_slab(depth_m, k, alpha, start_c), times, plain_air(air_c, h, len(times)), 24)
    return float(np.interp(-mark_c, -course.core_c[:, 0], times))


def evaporation_kg_m2h(air_c, humidity, h):
    """A pool of pure water that conducts well, in balance with its air: rate and temperature."""
    times = time_steps(7200.0, longest_s=60.0)
    whole = np.full((len(times), 1), 1.0)
    around = Surroundings(
        air_c=air_c * whole,
        vapour_pa=air.vapour_pa(humidity) * whole,
        forced=h * whole,
        natural=0.0 * whole,
        emissivity=one(0.0),
        factor=one(1.0),
        wet=True,
    )
    # Twenty litres per m2 with next to no solids: an activity of one.
    start_c = air.wet_bulb_c(air_c, humidity)
    wet = replace(bare_slab(0.05, 1e3, 1.0, start_c), water0=one(1e4), solid_kg_m2=one(2e-3))
    course = solve(wet, times, around, 8, 1)
    rate = np.diff(course.lost_kg_m2[-2:, 0])[0] / np.diff(times[-2:])[0] * 3600.0
    return float(rate), float(course.surface_c[-1, 0])


def at_wet_bulb_kg_m2h(air_c, humidity, h):
    """Evaporation as the books reckon it: the surface at the wet bulb of the air."""
    wet_bulb = air.wet_bulb_c(air_c, humidity)
    return float(h * (air_c - wet_bulb) / air.latent_heat(wet_bulb) * 3600.0)


def steak_h():
    """h for which the centre is at 8 and the surface at 2 degC in air of -15 (first mode alone)."""
    zeta = math.acos((2.0 + 15.0) / (8.0 + 15.0))
    return zeta * math.tan(zeta) * 0.45 / 0.015


def diffusion_time_h(left):
    """Hours until the mean is ``left`` of its first difference, both faces at equilibrium."""

    def mean(fourier):
        m = 2 * np.arange(60) + 1
        return float(np.sum(8 / (m * np.pi) ** 2 * np.exp(-((m * np.pi / 2) ** 2) * fourier)))

    fourier = brentq(lambda f: mean(f) - left, 1e-3, 5.0)
    return fourier * 0.0127**2 / 2.97e-6


def short_can(place_along):
    across = exact.cylinder(4540 * 0.03405 / 0.83, 2.007e-7 * 2700 / 0.03405**2, 0.0)
    along = exact.plane(4540 * 0.0508 / 0.83, 2.007e-7 * 2700 / 0.0508**2, 0.0) if place_along else 1.0
    return 115.6 + (29.4 - 115.6) * across * along


def brass(place):
    across = exact.cylinder(60 * 0.05 / 110, 3.39e-5 * 900 / 0.05**2, 0.0)
    return 25 + 95 * across * exact.plane(60 * 0.06 / 110, 3.39e-5 * 900 / 0.06**2, place)


def agar(depth_m, place):
    return 0.1 * exact.plane(1e7, 4.72e-10 * 36000 / depth_m**2, place)


def egg_min():
    left = 25.0 / 90.0
    biot = 1200 * 0.025 / 0.627
    fourier = brentq(lambda f: exact.sphere_centre(biot, f) - left, 0.05, 2.0)
    return fourier * 0.025**2 / 0.151e-6 / 60


STEEL = (0.04, 63.9, 18.8e-6, -20.0, 60.0, 500.0, 480.0)
BUTTER = (0.0462, 0.197, 0.197 / (998 * 2300), 277.6, 297.1, 8.52, 18000.0)

ANSWERS: dict[str, Callable[[], float]] = {
    "incropera_5_4": lambda: slab_at(*STEEL, 1),
    "cengel_4_3": egg_min,
    "cengel_4_4": lambda: slab_at(0.02, 110, 33.9e-6, 20.0, 500.0, 120.0, 420.0, 0),
    "cengel_4_5": lambda: 200 + 400 * exact.cylinder(80 * 0.1 / 14.9, 3.95e-6 * 2700 / 0.01, 0.0),
    "cengel_4_8_centre": lambda: brass(0.0),
    "cengel_4_8_top": lambda: brass(1.0),
    "cengel_4_11": steak_h,
    "geankoplis_5_3_1": lambda: -17.8 + 33.4 * exact.half_space_surface(11.36, 0.865, 4.65e-7, 18000),
    "butter_top": lambda: slab_at(*BUTTER, 0),
    "butter_25": lambda: slab_at(*BUTTER, 25.4 / 46.2),
    "butter_bottom": lambda: slab_at(*BUTTER, 1),
    "can_long": lambda: short_can(False),
    "can_short": lambda: short_can(True),
    "beef": lambda: slab_time(0.1015, 0.498, 0.498 / (1073 * 3480), 37.8, 1.7, 39.7, 10.0, 90000.0) / 3600,
    "agar_centre": lambda: agar(5.08e-3, 0.0),
    "agar_254": lambda: agar(5.08e-3, 0.5),
    "agar_half": lambda: agar(2.54e-3, 0.0),
    "humidity_9_3_1": lambda: 0.62198 * 2.76 / (101.3 - 2.76),
    "wet_bulb_9_3_4": lambda: psychrolib.GetHumRatioFromTWetBulb(60.0, 29.5, 101325.0),
    "pan_9_6_3_h": lambda: float(convection.geankoplis_tray(6.1, 65.6)),
    "pan_9_6_3_rate": lambda: at_wet_bulb_kg_m2h(65.6, 0.010, 62.45),
    "falling_9_7_2": lambda: 399 * 0.195 / (18.58 * 1.51) * math.log(0.195 / 0.04),
    "wood_9_9_1": lambda: diffusion_time_h((0.09 - 0.04) / (0.29 - 0.04)),
    "treybal_7_9": lambda: psychrolib.GetHumRatioFromTWetBulb(65.0, 35.0, 101325.0),
    "treybal_7_6_rh": lambda: 100 * psychrolib.GetRelHumFromHumRatio(55.0, 0.030, 101325.0),
    "treybal_7_6_dew": lambda: air.dew_point_c(55.0, 100 * psychrolib.GetRelHumFromHumRatio(55.0, 0.030, 101325.0)),
    "treybal_12_4_h": lambda: float(convection.treybal_gap(3.0, 65.0, 0.1, 0.7)),
    "treybal_12_4_rate": lambda: at_wet_bulb_kg_m2h(65.0, 0.01, 21.9),
    "can_14_12": lambda: evaporation_kg_m2h(30.0, air.humidity_ratio(30.0, 40.0), 10.0)[1],
}


@pytest.mark.parametrize("key", [k for k, r in ROWS.items() if not r["reason"]])
def test_example(key: str) -> None:
    row = ROWS[key]
    assert ANSWERS[key]() == pytest.approx(float(row["exact"]), abs=float(row["tol"]))


def test_every_example_is_run_or_says_why_not() -> None:
    assert set(ANSWERS) == {k for k, r in ROWS.items() if not r["reason"]}


def test_book_and_exact_differ_by_no_more_than_a_chart_reading() -> None:
    for row in ROWS.values():
        assert float(row["exact"]) == pytest.approx(float(row["book"]), rel=0.10), row["id"]


@pytest.mark.parametrize(("air_c", "humidity", "h"), [(65.6, 0.010, 62.45), (65.0, 0.010, 21.9)])
def test_solver_evaporates_as_much_as_at_the_wet_bulb(air_c: float, humidity: float, h: float) -> None:
    # The wet bulb stands for a Lewis number of one; Treybal, ex. 7.9, puts the difference at 5 %.
    rate, _ = evaporation_kg_m2h(air_c, humidity, h)
    assert rate == pytest.approx(at_wet_bulb_kg_m2h(air_c, humidity, h), rel=0.06)
