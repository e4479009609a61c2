"""The hold: 30 continuous minutes at the mark, proven by spot readings."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.hold import Mark, hold_status, marks
from planner.ranges import OutOfRange
from planner.readings import Reading
from planner.units import celsius
from tests.planner.moments import LATER, after, logs, read, read_f, walks

FLOOR, AIM = marks()
CORES = walks([62.0, 63.0, 63.0, 72.0, 72.0])
CHAMBERS = logs(55.0, 95.0, 240, size=4)


def met(core: list[Reading], chamber: list[Reading] = [], mark: Mark = FLOOR) -> bool:  # noqa: B006
    return hold_status(core, chamber, mark, LATER).met


def test_marks_are_the_published_ones() -> None:
    """Michigan Regulation 569, R 285.569.7: 145 °F, 30 min; PNW 238: 160 °F, 30 min."""
    assert FLOOR.reached(celsius(145, "degF"))
    assert not FLOOR.reached(celsius(144, "degF"))
    assert AIM.reached(celsius(160, "degF"))
    assert not AIM.reached(celsius(159, "degF"))
    assert FLOOR.hold_min == AIM.hold_min == 30


def test_a_person_may_work_to_the_floor_and_to_anything_above() -> None:
    _, aim = marks(celsius(145, "degF"))
    assert aim.name == "aim"
    assert aim.reached(celsius(145, "degF"))
    for work_to_f in (150, 160, 180):
        chosen = marks(round(celsius(work_to_f, "degF"), 2))[1]
        assert chosen.reached(celsius(work_to_f, "degF"))
        assert not chosen.reached(celsius(work_to_f - 0.1, "degF"))


@pytest.mark.parametrize("work_to_c", [60.0, celsius(144, "degF"), 120.0])
def test_nobody_works_below_the_floor(work_to_c: float) -> None:
    with pytest.raises(OutOfRange):
        marks(work_to_c)


def test_continuous_means_that_one_lower_reading_starts_the_count_again() -> None:
    """Worked case hold1 of safety_clocks.csv: R 285.569.7, "not less than 30 continuous minutes"."""
    values = [145, 146, 147, 146, 145, 144, 145, 146, 147, 147, 146, 145, 146]
    core = read_f(*((5 * i, value) for i, value in enumerate(values)))
    hold = hold_status(core, [], FLOOR, after(60))
    assert hold.met
    assert hold.since == after(30)
    assert hold.met_at == after(60)
    assert not hold_status(core[:-1], [], FLOOR, after(60)).met


def test_two_readings_half_an_hour_apart_suffice() -> None:
    assert met(read((0, 63), (30, 63)))
    assert not met(read((0, 63), (29, 63)))


def test_a_gap_over_35_minutes_breaks() -> None:
    assert met(read((0, 63), (35, 63)))
    hold = hold_status(read((0, 63), (36, 63)), [], FLOOR, after(36))
    assert not hold.met
    assert (hold.broken_by, hold.broken_at, hold.since) == ("gap", after(35), after(36))


def test_a_cold_chamber_between_breaks_and_before_or_after_does_not() -> None:
    core = read((10, 63), (40, 63))
    assert met(core, read((5, 40), (41, 40)))
    for minute in (10, 25, 40):
        hold = hold_status(core, read((minute, 62)), FLOOR, after(40))
        assert not hold.met
    assert hold_status(core, read((25, 62)), FLOOR, after(40)).broken_by == "chamber_below"


def test_of_two_readings_at_one_moment_the_colder_counts() -> None:
    assert not met(read((0, 63), (30, 63), (30, 62)))


def test_a_running_hold_says_when_to_read_again() -> None:
    hold = hold_status(read((0, 63), (20, 64)), [], FLOOR, after(25))
    assert (hold.since, hold.held_min) == (after(0), 20)
    assert (hold.due_at, hold.next_reading_by) == (after(30), after(55))
    late = hold_status(read((0, 63), (20, 64)), [], FLOOR, after(56))
    assert (late.since, late.held_min, late.best_min, late.broken_by) == (None, 0, 20, "gap")


def test_a_later_break_does_not_unmake_it() -> None:
    hold = hold_status(read((0, 63), (30, 63), (40, 50), (50, 63)), [], FLOOR, after(50))
    assert (hold.met, hold.met_at, hold.broken_by) == (True, after(30), None)


def test_readings_that_lie_ahead_prove_nothing() -> None:
    assert not hold_status(read((0, 63), (30, 63)), [], FLOOR, after(29)).met


@given(CORES, CHAMBERS)
def test_met_exactly_when_some_run_proves_it(core: list[Reading], chamber: list[Reading]) -> None:
    """The definition spelled out over all pairs of first and last readings."""
    assert met(core, chamber) == any(
        proves(core, chamber, first, last) for first in core for last in core if first.at <= last.at
    )


def proves(core: list[Reading], chamber: list[Reading], first: Reading, last: Reading) -> bool:
    between = sorted(r for r in core if first.at <= r.at <= last.at)
    return (
        last.at - first.at >= timedelta(minutes=30)
        and all(r.value_c >= FLOOR.core_c for r in between)
        and all(b.at - a.at <= timedelta(minutes=35) for a, b in pairwise(between))
        and not any(first.at <= r.at <= last.at and r.value_c < FLOOR.core_c for r in chamber)
    )


@given(CORES, CHAMBERS, logs(-5.0, 62.0, 240, size=3))
def test_a_lower_reading_never_opens(core: list[Reading], chamber: list[Reading], low: list[Reading]) -> None:
    assert met(core, chamber) or not met([*core, *low], chamber)
    assert met(core, chamber) or not met(core, [*chamber, *low])


@given(CORES, CHAMBERS, st.integers(0, 240), st.integers(0, 240))
def test_once_met_stays_met(core: list[Reading], chamber: list[Reading], a: int, b: int) -> None:
    early, late = sorted((a, b))
    before = hold_status(core, chamber, FLOOR, after(early))
    later = hold_status(core, chamber, FLOOR, after(late))
    assert later.met or not before.met
    assert later.best_min >= before.best_min
    if before.met:
        assert later.met_at == before.met_at


@given(CORES, CHAMBERS)
def test_the_aim_implies_the_floor(core: list[Reading], chamber: list[Reading]) -> None:
    assert met(core, chamber, FLOOR) or not met(core, chamber, AIM)


@given(CORES, CHAMBERS)
def test_no_order_of_telling_matters(core: list[Reading], chamber: list[Reading]) -> None:
    a = hold_status(core, chamber, AIM, LATER)
    assert a == hold_status(core[::-1], chamber[::-1], AIM, LATER)
