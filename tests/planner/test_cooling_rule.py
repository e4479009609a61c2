"""Cooling: 60 to 21.1 °C in 2 h, to 4.4 °C in 6 h, by core readings alone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.cooling_rule import CoolState, cooling_rule, cooling_status
from planner.readings import Reading
from tests.planner.moments import LATER, after, logs, read, read_f, walks

FOOD_CODE = cooling_rule("food_code")
LOGS = st.one_of(logs(0.0, 70.0, 600), walks([63.0, 58.0, 40.0, 20.0, 4.0]))


def state(core: list[Reading], now_min: float = 1e4) -> CoolState:
    return cooling_status(core, after(now_min)).state


def test_the_rule_in_force_is_the_strictest_of_each_end() -> None:
    """AFDO starts at 140 °F, the Food Code (3-501.14) ends at 41 °F, AFDO and Ontario F.B.14.3 at 40 °F."""
    ours, others = cooling_rule(), [cooling_rule(key) for key in ("fda_cooked", "food_code")]
    for other in others:
        assert ours.start.f >= other.start.f
        assert ours.end.f <= other.end.f
        assert (ours.middle.f, ours.middle_h, ours.end_h) == (other.middle.f, other.middle_h, other.end_h)


def test_food_code_cases() -> None:
    """cool1 and cool2 of safety_clocks.csv, FDA Food Code 3-501.14(A)."""
    passes = cooling_status(read_f((0, 135), (114, 70), (330, 41)), LATER, FOOD_CODE)
    assert passes.state is CoolState.DONE
    assert passes.done_at == after(330)
    fails = cooling_status(read_f((0, 135), (138, 70), (300, 41)), LATER, FOOD_CODE)
    assert fails.state is CoolState.UNPROVEN


def test_the_start_decides() -> None:
    """cool3 of safety_clocks.csv: fails by the clock from 140 °F, passes by the one from 135 °F."""
    core = read_f((0, 140), (9, 135), (126, 70), (354, 40))
    assert cooling_status(core, LATER).state is not CoolState.DONE
    assert cooling_status(core, LATER, FOOD_CODE).state is CoolState.DONE


@pytest.mark.parametrize(
    ("core", "now_min", "expected", "leg"),
    [
        (read((0, 50)), 10, CoolState.NOT_STARTED, None),
        (read((0, 63)), 120, CoolState.ON_COURSE, "first_leg"),
        (read((0, 63)), 121, CoolState.UNKNOWN, "first_leg"),
        (read((0, 63), (120, 21.2)), 121, CoolState.MISSED, "first_leg"),
        (read((0, 63), (100, 21.1)), 121, CoolState.ON_COURSE, "cold"),
        (read((0, 63), (130, 15)), 131, CoolState.UNPROVEN, "first_leg"),
        (read((0, 63), (130, 30)), 131, CoolState.MISSED, "first_leg"),
        (read((0, 63), (100, 20), (110, 25)), 121, CoolState.UNKNOWN, "first_leg"),
        (read((0, 63), (100, 20), (200, 25)), 201, CoolState.MISSED, "first_leg"),
        (read((0, 63), (100, 20)), 361, CoolState.UNKNOWN, "cold"),
        (read((0, 63), (100, 20), (360, 4.4)), 400, CoolState.DONE, "cold"),
        (read((0, 63), (100, 20), (370, 4.4)), 400, CoolState.UNPROVEN, "cold"),
        (read((0, 63), (100, 20), (370, 6)), 400, CoolState.MISSED, "cold"),
        (read((0, 63), (90, 4)), 400, CoolState.DONE, "cold"),
        (read((0, 63), (300, 4)), 400, CoolState.UNPROVEN, "first_leg"),
    ],
)
def test_what_readings_prove(core: list[Reading], now_min: float, expected: CoolState, leg: str | None) -> None:
    found = cooling_status(core, after(now_min))
    assert (found.state, found.leg) == (expected, leg)


def test_the_last_hot_reading_starts_the_clock() -> None:
    found = cooling_status(read((0, 71), (40, 60), (50, 59)), after(60))
    assert (found.start, found.first_leg_by, found.cold_by) == (after(40), after(160), after(400))
    assert found.next_reading_by == after(160)


def test_a_reading_told_late_can_still_prove() -> None:
    without = read((0, 63), (130, 15), (300, 4))
    assert cooling_status(without, LATER).remedy == "tell_earlier_reading"
    assert state([*without, *read((118, 20))]) is CoolState.DONE


def test_heat_does_not_bring_back_what_was_lost() -> None:
    assert state(read((0, 63), (150, 40), (200, 65), (260, 20), (400, 4))) is CoolState.MISSED
    assert state(read((0, 63), (150, 15), (200, 65), (260, 20), (400, 4))) is CoolState.UNPROVEN


def test_a_dip_in_the_smoker_is_no_cooling() -> None:
    assert state(read((0, 61), (150, 58), (200, 65), (260, 20), (400, 4))) is CoolState.DONE
    assert state(read((0, 61), (60, 50), (110, 65), (200, 20), (400, 4))) is CoolState.DONE


def test_of_two_readings_at_one_moment_the_warmer_counts() -> None:
    assert state(read((0, 63), (100, 20), (100, 25)), 121) is CoolState.UNKNOWN


@given(LOGS)
def test_done_needs_its_readings(core: list[Reading]) -> None:
    """Whatever is read: done means hot, 21.1 °C within 2 h and 4.4 °C within 6 h of a hot reading."""
    found = cooling_status(core, LATER)
    if found.state is not CoolState.DONE:
        return
    assert found.start is not None
    since = [(r.value_c, (r.at - found.start).total_seconds() / 3600) for r in core]
    assert any(value_c >= 59.9 and h == 0 for value_c, h in since)
    assert any(value_c <= 21.12 and 0 < h <= 2 for value_c, h in since)
    assert any(value_c <= 4.45 and 0 < h <= 6 for value_c, h in since)


@given(LOGS, logs(21.2, 59.0, 600, size=1), st.integers(0, 700))
def test_a_warm_reading_never_opens(core: list[Reading], warm: list[Reading], now_min: int) -> None:
    """A reading between the hot and the cold end cannot turn a cooling into a done one."""
    assert state(core, now_min) is CoolState.DONE or state([*core, *warm], now_min) is not CoolState.DONE


@given(LOGS, st.integers(0, 700), st.integers(0, 700))
def test_missed_stays_missed_without_new_heat(core: list[Reading], a: int, b: int) -> None:
    early, late = sorted((a, b))
    before = cooling_status(core, after(early))
    later = cooling_status(core, after(late))
    if before.state is CoolState.MISSED and later.start == before.start:
        assert later.state is CoolState.MISSED


@given(LOGS, st.integers(0, 700), st.integers(0, 700))
def test_nothing_opens_again_once_cold_fish_was_lost(core: list[Reading], a: int, b: int) -> None:
    early, late = sorted((a, b))
    before = cooling_status(core, after(early))
    colder = [r for r in core if before.start and before.start < r.at <= after(early) and r.value_c < 54.0]
    if before.state in (CoolState.MISSED, CoolState.UNPROVEN) and colder:
        assert state(core, late) is not CoolState.DONE


def test_hot_again_after_hours_out_of_the_heat_proves_no_cooling() -> None:
    """Our own rule: four hours out with no reading, then 74 °C: it may have cooled in between and been heated again."""
    core = read((0, 72), (240, 74), (330, 20), (480, 3))
    assert cooling_status(core, LATER).state is CoolState.DONE
    assert cooling_status(core, LATER, outs=[after(5)]).state is CoolState.UNPROVEN
    told = read((0, 72), (60, 63), (150, 62), (240, 74), (330, 20), (480, 3))
    assert cooling_status(told, LATER, outs=[after(5)]).state is CoolState.DONE
