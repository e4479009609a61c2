"""Freezing against parasites (FDA Food Code 3-402.11)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.parasites import freeze_options, freezing_proven, home_freezer_is_enough, parasite_need
from planner.readings import Reading
from planner.units import celsius
from tests.planner.moments import LATER, logs, read

DAY = 1440


def daily(days: int, value_c: float) -> list[Reading]:
    return read(*((DAY * day, value_c) for day in range(days + 1)))


def test_options_are_the_published_ones() -> None:
    """-4 °F for 7 days; -31 °F until solid, then 15 h."""
    week, deep = freeze_options()
    assert (week.temp_c, week.hours) == (pytest.approx(celsius(-4, "degF")), 7 * 24)
    assert (deep.temp_c, deep.hours) == (pytest.approx(celsius(-31, "degF")), 15)
    assert deep.once_solid


def test_only_cold_smoked_fish_that_may_carry_them_is_frozen_first() -> None:
    assert parasite_need("cold", may_carry=True).freeze_first
    assert not parasite_need("cold", may_carry=False).freeze_first
    assert parasite_need("hot", may_carry=True).why == "hot_smoke"


@pytest.mark.parametrize(
    ("freezer", "option"),
    [
        (daily(7, -20.0), "week"),
        (daily(6, -20.0), None),
        (daily(30, -18.0), None),
        (read((0, -35.0), (900, -35.0)), "deep"),
        (read((0, -35.0), (890, -35.0)), None),
        (read((0, -21.0), (7 * DAY, -21.0)), None),  # nobody looked for a week
        ([*daily(7, -20.0), *read((3 * DAY + 60, -10.0))], None),
    ],
)
def test_what_readings_prove(freezer: list[Reading], option: str | None) -> None:
    found = freezing_proven(freezer, 30.0, LATER)
    assert (found.key if found else None) == option


def test_a_home_freezer_is_not_cold_enough() -> None:
    assert not home_freezer_is_enough(celsius(0, "degF"))
    assert home_freezer_is_enough(celsius(-4, "degF"))


def test_very_thick_fish_is_not_covered() -> None:
    assert freezing_proven(daily(7, -20.0), 150.0, LATER) is not None
    assert freezing_proven(daily(7, -20.0), 151.0, LATER) is None


@given(logs(-40.0, 0.0, 12 * DAY, size=20), logs(-19.5, 5.0, 12 * DAY, size=3), st.floats(5.0, 100.0))
def test_a_warmer_reading_never_proves(freezer: list[Reading], warm: list[Reading], thickness_mm: float) -> None:
    before = freezing_proven(freezer, thickness_mm, LATER)
    assert before is not None or freezing_proven([*freezer, *warm], thickness_mm, LATER) is None
