"""The slab solver against exact series, finite volumes with BDF, its own refinement, and conservation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner import air, convection
from planner.body import slab_of
from planner.modes import Basis, step_weights
from planner.piece import Piece
from planner.slab import Slab, Surroundings, solve, time_steps
from planner.unknowns import crossing_s
from tests.planner import exact_series as exact
from tests.planner.finite_volume import FiniteVolumes
from tests.planner.given import FILLET, SALMON, bare_slab, one, plain_air

HOURS = np.array([0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0])


def salmon(piece: Piece = FILLET, **more) -> Slab:
    given_slab = {"at_c": 40.0, "start_c": 5.0, "wps_pct": 3.5, "diffusivity": 1e-10} | more
    return slab_of(piece, **given_slab)


def smoker(count: int, chamber_c: float = 80.0, humidity: float = 0.030, wind: float = 0.3, **more):
    whole = np.ones((count, 1))
    return Surroundings(
        air_c=chamber_c * whole,
        vapour_pa=air.vapour_pa(humidity) * whole,
        forced=convection.laminar_plate(wind, chamber_c) * whole,
        natural=convection.natural_plate(1.0, chamber_c) * whole,
        emissivity=one(0.9),
        factor=one(1.0),
        **more,
    )


def at_hours(times, values):
    return np.interp(HOURS * 3600.0, times, values)


@pytest.mark.parametrize(("depth_mm", "h", "alpha"), [(12.5, 15.0, 1.4e-7), (30.0, 40.0, 1.3e-7), (6, 5.0, 1.4e-7)])
def test_dry_slab_is_the_exact_series(depth_mm: float, h: float, alpha: float) -> None:
    depth, k = depth_mm * 1e-3, 0.49
    times = time_steps(3 * 3600.0, longest_s=60.0)
    course = solve(bare_slab(depth, k, alpha, 5.0), times, plain_air(80.0, h, len(times)))
    for n in range(10, len(times), 40):
        for place in (0.3, 1.0):
            left = exact.plane(h * depth / k, alpha * times[n] / depth**2, 1.0 - place)
            assert course.at(place)[n, 0] == pytest.approx(80.0 - 75.0 * left, abs=0.02)


def test_coupled_run_agrees_with_finite_volumes_and_bdf() -> None:
    times = time_steps(6 * 3600.0, longest_s=60.0, first_s=5.0, growth=1.2)
    slab = salmon()
    course = solve(slab, times, smoker(len(times)), 16, 64)
    core, lost = FiniteVolumes(slab, smoker(1), cells=120, stretch=1.05).solve(np.r_[0.0, HOURS * 3600.0])
    # The finite volumes' own error, from halving their cells, is 0.03 K and 0.0005 kg/m2.
    assert at_hours(times, course.core_c[:, 0]) == pytest.approx(core[1:], abs=0.05)
    assert at_hours(times, course.lost_kg_m2[:, 0]) == pytest.approx(lost[1:], abs=1e-3)


def test_halving_the_step_cuts_the_error_by_nearly_four() -> None:
    def cores(longest_s: float) -> np.ndarray:
        times = np.arange(0.0, 6 * 3600.0 + 1, longest_s)
        return solve(salmon(), times, smoker(len(times))).core_c[:: round(1200 / longest_s), 0]

    fine = cores(15.0)
    errors = [np.abs(cores(step) - fine).max() for step in (240.0, 120.0, 60.0)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert np.all(orders > 1.4), (errors, orders)


def test_more_modes_converge() -> None:
    times = time_steps(4 * 3600.0, longest_s=60.0)
    around = smoker(len(times))
    full = solve(salmon(), times, around, 24, 128).core_c
    errors = [np.abs(solve(salmon(), times, around, h, w).core_c - full).max() for h, w in ((4, 8), (8, 24), (12, 48))]
    assert errors[0] > errors[1] > errors[2]
    assert errors[1] < 0.15  # what planning uses, against a spread of tens of kelvin


def test_a_family_is_its_runs() -> None:
    times = time_steps(2 * 3600.0)
    thickness = np.array([0.8, 1.0, 1.3])
    together = solve(salmon(thickness=thickness), times, smoker(len(times)))
    for i, factor in enumerate(thickness):
        alone = solve(salmon(thickness=factor), times, smoker(len(times)))
        assert together.core_c[:, i] == pytest.approx(alone.core_c[:, 0], abs=0.02)


pieces = st.builds(
    Piece,
    composition=st.just(SALMON),
    thickness_mm=st.floats(8.0, 80.0),
    open_faces=st.sampled_from([1, 2]),
    width_mm=st.one_of(st.none(), st.floats(40.0, 200.0)),
)


@settings(max_examples=25, deadline=None)
@given(
    piece=pieces,
    chamber_c=st.floats(15.0, 120.0),
    humidity=st.floats(0.004, 0.06),
    wind=st.floats(0.05, 3.0),
    diffusivity=st.floats(3e-11, 4e-10),
    start_c=st.floats(0.0, 40.0),
    wps=st.floats(0.0, 8.0),
)
def test_heat_and_water_are_kept(piece, chamber_c, humidity, wind, diffusivity, start_c, wps) -> None:
    times = time_steps(5 * 3600.0, longest_s=600.0)
    humidity = min(humidity, 0.9 * 0.622 * float(air.saturation_pa(chamber_c)) / 101325.0)
    slab = salmon(piece, start_c=start_c, wps_pct=wps, diffusivity=diffusivity)
    course = solve(slab, times, smoker(len(times), chamber_c, humidity, wind))
    heat, stored = course.heat_j_m2[-1, 0], course.stored_j_m2[-1, 0]
    swing = np.abs(np.diff(course.heat_j_m2[:, 0])).sum()
    assert heat == pytest.approx(stored, abs=1e-3 * swing + 1.0)
    held = slab.water0[0] * slab.solid_kg_m2[0]
    assert held - course.lost_kg_m2[-1, 0] == pytest.approx(course.left_kg_m2[-1, 0], abs=1e-3 * held)
    assert np.all(np.isfinite(course.core_c))
    assert np.all(course.core_c <= max(chamber_c, start_c) + 0.3)  # long steps on thin dry pieces ring
    assert np.all(course.left_kg_m2 > 0.0)


@settings(max_examples=15, deadline=None)
@given(chamber_c=st.floats(80.0, 110.0), thickness=st.floats(12.0, 40.0), more=st.floats(1.05, 1.5))
def test_thicker_cooler_and_wetter_are_later(chamber_c: float, thickness: float, more: float) -> None:
    times = time_steps(8 * 3600.0, longest_s=600.0)

    def later(mm=thickness, degrees=chamber_c, **kind):
        around = smoker(len(times), degrees, **kind)
        return crossing_s(times, solve(salmon(Piece(SALMON, mm, 2)), times, around).core_c, 55.0)[0]

    usual = later()
    assert later(mm=thickness * more) > usual
    assert later(degrees=chamber_c + 5.0) < usual
    assert later(wet=True) >= usual >= later(evaporates=False)


def test_salt_slows_evaporation() -> None:
    times = time_steps(4 * 3600.0)
    lost = [solve(salmon(wps_pct=w), times, smoker(len(times))).lost_kg_m2[-1, 0] for w in (0.0, 3.0, 8.0)]
    assert lost[0] > lost[1] > lost[2]


def test_skin_takes_heat_and_gives_no_water() -> None:
    times = time_steps(2 * 3600.0)
    half = solve(salmon(), times, smoker(len(times)))
    skin = solve(salmon(Piece(SALMON, 25.0, 1)), times, smoker(len(times)))
    assert skin.core_c[-1, 0] > half.core_c[-1, 0]
    sealed = smoker(len(times), evaporates=False)
    # Sealed all round, the skin-on piece is the two-sided one: same cores.
    a = solve(salmon(), times, sealed).core_c
    b = solve(salmon(Piece(SALMON, 25.0, 1)), times, sealed).core_c
    assert b[5:, 0] == pytest.approx(a[5:, 0], abs=0.3)


def test_drying_before_leaves_a_drier_face_and_keeps_its_water() -> None:
    slab = salmon(dried_kg_m2=0.3)
    times = time_steps(600.0)
    course = solve(slab, times, plain_air(5.0, 1.0, len(times)), 8, 64)
    held = slab.water0[0] * slab.solid_kg_m2[0] - 0.3
    assert course.left_kg_m2[0, 0] == pytest.approx(held, rel=1e-12)
    assert 0.2 * slab.water0[0] < course.surface_water[0, 0] < 0.4 * slab.water0[0]


@given(st.floats(0.0, 60.0))
def test_step_weights_are_the_integrals(z: float) -> None:
    """Old and new weights integrate e^-z(1-s) (1-s) and e^-z(1-s) s over a step."""
    s = np.linspace(0.0, 1.0, 20001)
    left, old, new = (float(w[0]) for w in step_weights(np.array([z])))
    kernel = np.exp(-z * (1 - s))
    assert left == pytest.approx(np.exp(-z), abs=1e-12)
    assert old == pytest.approx(np.trapezoid(kernel * (1 - s), s), abs=1e-6)
    assert new == pytest.approx(np.trapezoid(kernel * s, s), abs=1e-6)


@pytest.mark.parametrize("place", [0.0, 0.25, 0.5, 1.0])
def test_the_rest_of_the_series_in_closed_form(place: float) -> None:
    m = np.arange(12, 400_000)
    assert Basis(12).rest(place) == pytest.approx(np.sum(2 * np.cos(m * np.pi * place) / (m * np.pi) ** 2), abs=1e-6)


def test_pressure_at_altitude_dries_faster() -> None:
    times = time_steps(2 * 3600.0)
    sea, high = (
        solve(salmon(), times, replace(smoker(len(times)), pressure=p)).lost_kg_m2[-1, 0]
        for p in (101325.0, air.pressure_pa(1500.0))
    )
    assert high > sea
