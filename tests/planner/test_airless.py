"""The airless gate: measured salt and a cold fridge, nothing else."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.airless import airless_gate
from planner.ranges import OutOfRange
from planner.readings import Reading
from tests.planner.moments import after, logs, read

NOW = after(1440)
COLD = read((600, 3.0), (1400, 3.3))


@pytest.mark.parametrize(
    ("wps_pct", "fridge", "missing"),
    [
        (3.5, COLD, ()),
        (3.4, COLD, ("wps_too_low",)),
        (None, COLD, ("wps_not_measured",)),
        (4.0, [], ("fridge_not_read",)),
        (4.0, read((600, 3.0), (1400, 3.5)), ("fridge_too_warm",)),
        (4.0, read((-10, 3.0)), ("fridge_not_read_lately",)),
        (None, [], ("wps_not_measured", "fridge_not_read")),
    ],
)
def test_what_is_missing(wps_pct: float | None, fridge: list[Reading], missing: tuple[str, ...]) -> None:
    """FDA Hazards Guide 4th ed., ch. 13: 3.5 % salt in the water phase; 38 °F."""
    gate = airless_gate(wps_pct, fridge, NOW)
    assert gate.missing == missing
    assert gate.open == (not missing)


def test_38_degrees_fahrenheit_is_cold_enough() -> None:
    assert airless_gate(3.5, [Reading(after(1400), 3.33)], NOW).open


def test_a_salt_that_cannot_be_is_refused() -> None:
    for wps_pct in (-1.0, 30.0):
        with pytest.raises(OutOfRange):
            airless_gate(wps_pct, COLD, NOW)


@given(logs(-2.0, 10.0, 3000))
def test_without_a_measurement_it_never_opens(fridge: list[Reading]) -> None:
    assert not airless_gate(None, fridge, NOW).open


@given(st.floats(0.0, 27.0), logs(-2.0, 10.0, 3000), logs(3.4, 10.0, 1440, size=2))
def test_a_warm_reading_never_opens(wps_pct: float, fridge: list[Reading], warm: list[Reading]) -> None:
    before = airless_gate(wps_pct, fridge, NOW)
    assert before.open or not airless_gate(wps_pct, [*fridge, *warm], NOW).open
