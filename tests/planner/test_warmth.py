"""The warm clock of a batch: from the catch through drying, heating and cooling, of the lot furthest on it.

Hours are added up by hand; limits are those of the FDA Fish and Fishery Products Hazards and Controls
Guidance, 4th ed., ch. 7 (never frozen 4 h ever above 21.1 °C, else 8 h; previously frozen 12 and 24 h)
and Appendix 4, Table A-2 (S. aureus 3 h above 21.1 °C, C. botulinum type E 11 h from 10.6 °C).
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.exposure import Exposure
from planner.making import make
from planner.stages import Stage
from planner.warmth import exposure_now
from tests.planner.journal import FRIDAY, Journal, described

HOUR = timedelta(hours=1)


def mackerel(**slots) -> Journal:
    return described(species="atlantic_mackerel", thickness_mm=15.0, **slots)


def clock(journal: Journal) -> Exposure:
    found = journal.plan().exposure
    assert found is not None
    return found


def soaked(journal: Journal) -> Journal:
    """Six hours in the brine, out at the end."""
    return journal.started("soak").after(hours=6).done("soak")


def test_hours_from_the_catch_count_until_the_fish_was_first_cold():
    """Caught, on ice two hours later: taken as a warm room, where S. aureus has 3 h and histamine 4 h."""
    caught = FRIDAY - 5 * HOUR
    journal = mackerel(caught_at=caught.isoformat()).event(caught + 2 * HOUR, what="fridge")
    found = clock(soaked(journal))

    assert (found.rule, found.used_h, found.limit_h) == ("growth.s_aureus", pytest.approx(2.0), 3.0)


def test_hours_out_of_the_cold_that_were_told_count():
    assert clock(soaked(mackerel(warm_h=1.5))).used_h == pytest.approx(1.5)


def test_a_catch_that_nobody_said_was_iced_is_warm_until_the_brine():
    caught = FRIDAY - 5 * HOUR
    found = clock(soaked(mackerel(caught_at=caught.isoformat())))

    assert found.used_h == pytest.approx(5.0)
    assert found.spent


def test_drying_counts_by_the_air_that_was_read():
    """Three hours at 18 °C: never above 21.1 °C, so 3 of 8 h."""
    journal = soaked(mackerel()).read(air_c=18.0).started("dry").after(hours=3)
    found = clock(journal)

    assert (found.used_h, found.limit_h) == (pytest.approx(3.0), 8.0)


def test_between_two_readings_the_warmer_counts():
    """Read at 18 °C, an hour later at 23 °C, half an hour more: above 21.1 °C S. aureus has 3 h."""
    journal = soaked(mackerel()).read(air_c=18.0).started("dry").after(hours=1).read(air_c=23.0).after(minutes=30)
    found = clock(journal)

    assert (found.rule, found.used_h, found.limit_h) == ("growth.s_aureus", pytest.approx(1.5), 3.0)


def test_thawed_fish_has_the_longer_limits():
    """Two hours up to 60 °C: 2 of 12 h where fish that was never frozen has 4."""
    journal = soaked(mackerel(state="thawed")).started("smoke").after(hours=2).read(core_c=61.0)
    found = clock(journal)

    assert (found.rule, found.used_h, found.limit_h) == ("histamine.previously_frozen", pytest.approx(2.0), 12.0)


def test_the_time_between_brine_and_rack_counts():
    journal = soaked(mackerel()).read(air_c=18.0).after(hours=1).started("dry").after(hours=2)

    assert clock(journal).used_h == pytest.approx(3.0)


def test_the_time_back_in_the_cold_does_not():
    journal = soaked(mackerel()).read(air_c=18.0).after(minutes=15).event(what="fridge").after(hours=10)
    journal.started("dry").after(hours=2)

    assert clock(journal).used_h == pytest.approx(2.25)


def test_dried_and_held_in_the_cold_until_the_smoke():
    """On the racks for 3 h, overnight in the fridge, into the smoke: 3 h."""
    journal = soaked(mackerel()).read(air_c=18.0).started("dry").after(hours=3).event(what="fridge")
    journal.after(hours=10).started("smoke")

    assert clock(journal).used_h == pytest.approx(3.0)


def test_racked_twice_counts_twice():
    """Two hours on the racks, the night in the fridge, one more hour on the racks."""
    journal = soaked(mackerel()).read(air_c=18.0).started("dry").after(hours=2).event(what="fridge")
    journal.after(hours=8).started("dry").after(hours=1)

    assert clock(journal).used_h == pytest.approx(3.0)


def test_a_pull_in_the_cold_told_in_one_breath_counts_nothing():
    journal = soaked(mackerel()).event(what="fridge").after(hours=9)

    assert clock(journal).used_h == pytest.approx(0.0)


def test_coming_up_to_heat_and_cooling_down_count_for_histamine():
    """Half an hour up to 60 °C, an hour above (which counts for nothing), two hours down to 4 °C."""
    journal = soaked(mackerel()).read(air_c=18.0).started("smoke")
    journal.after(minutes=30).read(core_c=61.0).after(hours=1).read(core_c=74.0).event(what="pulled")
    journal.after(hours=2).read(core_c=4.0).after(hours=20)
    found = clock(journal)

    assert (found.used_h, found.limit_h) == (pytest.approx(2.5), 4.0)


def test_fish_that_forms_none_is_counted_raw_only():
    """Three hours on the racks at 18 °C are 3 of the 11 h of type E between 10.6 and 21.1 °C."""
    journal = soaked(described()).read(air_c=18.0).started("dry").after(hours=3).started("smoke").after(hours=5)
    found = clock(journal)

    assert found.rule == "growth.botulinum_e"
    assert (found.used_h, found.limit_h) == (pytest.approx(3.0), 11.0)


def test_the_lot_that_lay_out_longest_decides():
    """The small ones go into the smoke after 2 h, the large stay on the racks for 3 h more."""
    lots = [{"thickness_mm": 10.0}, {"thickness_mm": 30.0}]
    journal = soaked(described(lots=lots)).read(air_c=18.0).started("dry").after(hours=2).started("smoke", "small")
    journal.after(hours=3).started("smoke", "large")

    assert clock(journal).used_h == pytest.approx(5.0)


@pytest.mark.parametrize("read", [{"fridge_c": 9.0}, {"core_c": 9.0}])
def test_a_soak_that_was_read_too_warm_counts(read):
    """Read at 9 °C an hour in: the six hours are taken as that warm."""
    journal = mackerel().started("soak").after(hours=1).read(**read).after(hours=5).done("soak").event(what="fridge")

    assert clock(journal).used_h == pytest.approx(6.0)


def test_a_rest_that_was_read_too_warm_counts():
    journal = soaked(mackerel()).event(what="fridge").after(hours=1).read(fridge_c=9.0).after(hours=3)

    assert clock(journal).used_h == pytest.approx(4.0)


def test_a_cold_soak_counts_nothing():
    journal = mackerel().started("soak").after(hours=1).read(fridge_c=3.0).after(hours=5)

    assert clock(journal).used_h == 0.0


def test_what_is_still_planned_counts_for_nothing_but_says_when_it_would_be_spent():
    damp = mackerel(fan=False)
    journal = soaked(damp).read(air_c=23.0, rh_pct=88.0).started("dry").after(minutes=90)
    found = clock(journal)

    assert journal.plan().stage(Stage.DRY).end > journal.now + 2 * HOUR
    assert found.used_h == pytest.approx(1.5)
    assert not found.spent
    assert abs(found.spent_at - (journal.now + 1.5 * HOUR)) <= timedelta(seconds=2)


@pytest.mark.parametrize("hours", [0, 1, 4])
def test_the_clock_never_runs_back(hours):
    journal = soaked(mackerel()).read(air_c=18.0).started("dry")
    before = clock(journal.after(hours=2)).share
    for word in ("fridge", "rotated"):
        journal.after(hours=hours).event(what=word)
        assert clock(journal).share >= before
        before = clock(journal).share


STEPS = st.tuples(st.sampled_from(["in", "out", "hot"]), st.floats(0.05, 5.0))


@settings(deadline=None, max_examples=150)
@given(st.lists(STEPS, max_size=8))
def test_going_in_and_out_of_the_heat_gives_no_hour_back(steps):
    """Only a reading shows that fish was hot; that it was put back, or taken out again, gives nothing back."""
    journal = soaked(mackerel()).read(air_c=24.0).started("dry").after(hours=1).started("smoke")
    used = 0.0
    for step, hours in steps:
        journal.after(hours=hours)
        if step == "hot":
            journal.read(core_c=70.0)
        else:
            journal.event(**({"what": "pulled"} if step == "out" else {"stage": "smoke", "started": True}))
        found = exposure_now(journal.batch, make(journal.batch), journal.now)
        assert step == "hot" or found.share >= used - 1e-9
        used = found.share


def test_the_hours_before_fish_was_hot_again_count_from_when_it_came_out():
    """Caught cold, an hour on the racks at 18 °C, an hour to 70 °C, then four hours out and 72 °C: 6 hours."""
    journal = soaked(mackerel()).read(air_c=18.0).started("dry").after(hours=1).started("smoke")
    journal.after(hours=1).read(core_c=70.0).event(what="pulled")
    journal.after(hours=4).started("smoke").read(core_c=72.0)

    assert clock(journal).used_h == pytest.approx(6.0, abs=0.01)
