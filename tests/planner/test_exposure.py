"""Clocks of time in the warm."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.exposure import (
    Clock,
    Exposure,
    Spell,
    exposures,
    growth_exposure,
    histamine_exposure,
    raw_rte_exposure,
    spells_between,
    spells_until,
    warm_before,
)
from planner.ranges import OutOfRange
from planner.sources import table
from planner.units import celsius
from tests.planner.moments import LATER, T0, after, read

NEVER_FROZEN = histamine_exposure(previously_frozen=False)
FROZEN = histamine_exposure(previously_frozen=True)
COOKED_LATER = growth_exposure(eaten_as_is=False)
EATEN = growth_exposure(eaten_as_is=True)


def row_of(*parts: tuple[float, float]) -> list[Spell]:
    """Spells one after the other from (hours, °C)."""
    spells, at = [], T0
    for hours, temp_c in parts:
        end = at + timedelta(hours=hours)
        spells.append(Spell(at, end, temp_c, temp_c))
        at = end
    return spells


def row_of_f(*parts: tuple[float, float]) -> list[Spell]:
    return row_of(*((hours, celsius(temp_f, "degF")) for hours, temp_f in parts))


PARTS = st.lists(st.tuples(st.floats(0.0, 12.0), st.floats(-2.0, 70.0)), max_size=8)
CLOCKS = st.sampled_from([NEVER_FROZEN, FROZEN, COOKED_LATER, EATEN, raw_rte_exposure])


@pytest.mark.parametrize(
    ("clock", "parts_f", "used_h", "limit_h"),
    [
        (NEVER_FROZEN, [(3, 45), (2, 75)], 5, 4),  # hist1 of safety_clocks.csv
        (NEVER_FROZEN, [(7, 60)], 7, 8),  # hist2
        (FROZEN, [(9, 60), (1, 72)], 10, 12),  # hist3
        (FROZEN, [(20, 60)], 20, 24),
        (NEVER_FROZEN, [(10, 38), (1, 60), (0.5, 150)], 1, 8),  # the cold and the hot do not count
        (NEVER_FROZEN, [(4, 70)], 4, 8),  # at 70 °F is not above it
    ],
)
def test_histamine_hours(clock: Clock, parts_f: list[tuple[float, float]], used_h: float, limit_h: float) -> None:
    """FDA Hazards Guide 4th ed., ch. 7: 4/8 h never frozen, 12/24 h previously frozen, above 40 °F."""
    found = clock(row_of_f(*parts_f))
    assert (found.used_h, found.limit_h) == (pytest.approx(used_h), limit_h)
    assert found.spent == (used_h > limit_h)
    assert found.left_h == pytest.approx(max(0.0, limit_h - used_h))


@pytest.mark.parametrize(
    ("parts_f", "share"),
    [
        ([(2, 75)], 2 / 2),  # 2 h above 70 °F
        ([(3, 60), (1, 75)], 4 / 4),  # 4 h in all
        ([(1, 60), (1.5, 75)], 1.5 / 2),
        ([(5, 60)], 5 / 5),  # never above 70 °F
        ([(50, 49), (2, 136)], 0.0),  # below 50 and above 135 °F nothing counts
    ],
)
def test_raw_ready_to_eat(parts_f: list[tuple[float, float]], share: float) -> None:
    """FDA Hazards Guide 4th ed., Appendix 4, 18 March 2020: 4 h with 2 h above 70 °F, or 5 h."""
    assert raw_rte_exposure(row_of_f(*parts_f)).share == pytest.approx(share)


@pytest.mark.parametrize("clock", [COOKED_LATER, EATEN], ids=["cooked later", "eaten as it is"])
@pytest.mark.parametrize("temp_f", [38, 41, 42, 50, 51, 60, 70, 71, 86, 87, 113])
def test_the_strictest_row_of_the_growth_table_counts(clock: Clock, temp_f: int) -> None:
    """Appendix 4, Table A-2, looked up by hand: rows printed for that temperature."""
    covering = [
        float(row["max_h"])
        for row in table("growth_limits")
        if float(row["from_f"]) <= temp_f <= float(row["to_f"] or 113)
        and not (row["from_f"] in ("70", "86") and str(temp_f) == row["from_f"])  # printed "above"
        and (row["hazard"] != "listeria" or clock is EATEN)
    ]
    found = clock(row_of_f((1.0, temp_f)))
    assert found.limit_h == min(covering)
    assert found.used_h == pytest.approx(1.0)


def test_between_two_rows_the_warmer_counts() -> None:
    """41 to 42 and 50 to 51 °F stand in no row; interpolation may not be appropriate (Appendix 4)."""
    assert COOKED_LATER(row_of_f((1, 41.5))).limit_h == 48
    assert COOKED_LATER(row_of_f((1, 50.5))).limit_h == 11
    assert COOKED_LATER(row_of_f((1, 70.5))).limit_h == 3


def test_parts_of_several_rows_add_up() -> None:
    found = COOKED_LATER(row_of_f((5.5, 60), (3, 75)))
    assert found.rule == "growth.s_aureus"
    assert found.share == pytest.approx(5.5 / 12 + 3 / 3)
    assert found.used_h == pytest.approx(3 * found.share)


def test_too_hot_to_grow_does_not_count() -> None:
    """Table A-1: S. aureus grows to 122 °F, C. botulinum E to 113 °F."""
    assert COOKED_LATER(row_of_f((10, 123))).used_h == 0
    assert COOKED_LATER(row_of_f((2, 121))).rule == "growth.s_aureus"
    heating = [Spell(T0, after(60), 63.0, 15.0)]
    assert (COOKED_LATER(heating).used_h, COOKED_LATER(heating).limit_h) == (pytest.approx(1.0), 3)


def test_listeria_counts_only_where_nobody_cooks() -> None:
    assert EATEN(row_of_f((3, 90))).rule == "growth.listeria"
    assert COOKED_LATER(row_of_f((3, 90))).rule == "growth.s_aureus"


def test_all_clocks_the_nearest_to_its_end_first() -> None:
    found = exposures(row_of((3, 15.0)), histamine=True, previously_frozen=False, cold_smoked=True)
    assert found[0].rule == "raw_rte.never_warm"
    assert {e.rule for e in found} >= {"histamine.never_frozen", "growth.listeria"}
    assert [e.share for e in found] == sorted((e.share for e in found), reverse=True)


def test_a_planned_warmth_says_when_it_is_spent() -> None:
    planned = row_of((6, 15.0), (2, 25.0))
    (clock,) = [e for e in all_clocks(planned) if e.rule == "histamine.never_frozen"]
    assert clock.spent_at is not None  # six of eight hours, until a warm moment makes it four
    assert abs(clock.spent_at - after(360)) <= timedelta(seconds=2)
    (cool,) = [e for e in all_clocks(row_of((10, 15.0))) if e.rule == "histamine.never_frozen"]
    assert cool.spent_at is not None
    assert abs(cool.spent_at - after(480)) <= timedelta(seconds=2)


def all_clocks(spells: list[Spell]) -> list[Exposure]:
    return exposures(spells, histamine=True, previously_frozen=False, cold_smoked=False)


def test_hours_before_the_batch_count_as_warm_unless_told() -> None:
    assert NEVER_FROZEN([warm_before(1.0, T0)]).limit_h == 4
    assert NEVER_FROZEN([warm_before(1.0, T0, 10.0)]).limit_h == 8
    with pytest.raises(OutOfRange):
        warm_before(-1.0, T0)


def test_between_readings_the_warmer_counts() -> None:
    spells = spells_between(read((0, 3.0), (60, 22.0), (120, 65.0), (180, 66.0)), LATER)
    assert NEVER_FROZEN(spells).used_h == pytest.approx(2.0)
    assert NEVER_FROZEN(spells_until(spells, after(90))).used_h == pytest.approx(1.5)


def test_a_spell_that_ends_before_it_starts_is_refused() -> None:
    with pytest.raises(ValueError, match="before it starts"):
        Spell(after(1), T0, 10.0, 10.0)


@given(CLOCKS, PARTS, st.integers(0, 6000), st.integers(0, 6000))
def test_exposure_never_falls(clock: Clock, parts: list[tuple[float, float]], a: int, b: int) -> None:
    early, late = sorted((a, b))
    spells = row_of(*parts)
    before = clock(spells_until(spells, after(early))).share
    assert clock(spells_until(spells, after(late))).share >= before - 1e-9


@given(st.sampled_from([COOKED_LATER, EATEN]), PARTS)
def test_the_sum_of_parts_is_never_looser_than_a_row(clock: Clock, parts: list[tuple[float, float]]) -> None:
    """Not spent means that every row of the table, taken alone as published, is kept."""
    found = clock(row_of(*parts))
    if found.spent:
        return
    for row in table("growth_limits"):
        if row["hazard"] == "listeria" and clock is COOKED_LATER:
            continue
        low, high = float(row["from_f"]), float(row["to_f"] or 113)
        in_row = sum(h for h, c in parts if low + 0.1 <= c * 1.8 + 32 <= high)
        assert in_row <= float(row["max_h"]) * (1 + 1e-6)


@given(PARTS, st.booleans(), st.booleans())
def test_spent_at_is_there_exactly_when_spent(
    parts: list[tuple[float, float]], frozen: bool, cold_smoked: bool
) -> None:
    spells = row_of(*parts)
    for clock in exposures(spells, histamine=True, previously_frozen=frozen, cold_smoked=cold_smoked):
        assert (clock.spent_at is not None) == clock.spent
        if clock.spent_at is not None:
            assert T0 <= clock.spent_at <= spells[-1].end
