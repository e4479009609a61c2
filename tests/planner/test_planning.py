"""What must hold for every plan, whatever the fish.

No figure here comes from the planner's own output: what is checked is order, comparison between two
plans, published limits, and the clock on the wall.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.habits import Habits
from planner.plan import Plan
from planner.ranges import OutOfRange
from planner.saltwater import OverSaturated
from planner.schedule import STEP
from planner.species import species_keys
from planner.stages import ORDER, Stage
from tests.planner.journal import FRIDAY, HOME, Journal, described, in_the_smoke, on_the_racks, out_of_the_smoke

FORMS = ("fillet", "side", "belly", "steak", "chunk", "strip", "collar", "whole")
NEVER_QUIET = Habits(HOME.zone, ("00:00", "00:00"))
HOUR = timedelta(hours=1)


def planned(**slots) -> Plan:
    return Journal().describe(**slots).plan()


def sound(plan: Plan) -> None:
    """Every plan: stages in order, ranges around their best guess, salt within its own range."""
    for row in plan.stages:
        assert row.earliest <= row.end <= row.latest, row
        assert row.start <= row.end, row
    order = [ORDER.index(row.stage) for row in plan.stages]
    assert order == sorted(order)
    for lot in (lot.name for lot in plan.making.lots):
        way = [row for row in plan.stages if row.lot in (None, lot)]
        for before, after in pairwise(way):
            assert after.start >= before.end, (before, after)
    assert {row.stage for row in plan.stages} <= set(plan.making.route)
    if plan.wps:
        assert 0.0 <= plan.wps.low <= plan.wps.mean <= plan.wps.high
        assert 0.0 <= plan.wps.pull_core <= plan.wps.pull_mean + 0.01
        assert plan.wps.core <= plan.wps.mean + 0.01
    assert 0.0 < plan.yield_pct < 100.0


def hours(plan: Plan, stage: Stage) -> timedelta:
    row = plan.stage(stage)
    assert row is not None
    return row.end - row.start


@pytest.mark.parametrize(("i", "key"), list(enumerate(species_keys())))
def test_every_fish_gets_a_sound_plan(i, key):
    sound(planned(species=key, form=FORMS[i % len(FORMS)]))


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("key", ["salmon", "atlantic_mackerel", "a fish nobody knows"])
def test_every_cut_gets_a_sound_plan(key, form):
    sound(planned(species=key, form=form))


@pytest.mark.parametrize("state", ["fresh", "frozen", "thawed"])
@pytest.mark.parametrize("cure", ["wet", "dry", "equilibrium"])
@pytest.mark.parametrize("smoke_kind", ["hot", "cold"])
def test_every_way_gets_a_sound_plan(state, cure, smoke_kind):
    plan = planned(species="coho_salmon", state=state, cure=cure, smoke_kind=smoke_kind)

    sound(plan)
    assert (plan.stage(Stage.THAW) is not None) == (state == "frozen")
    assert (plan.stage(Stage.SALT) is not None) == (cure != "wet")
    assert (plan.stage(Stage.SOAK) is not None) == (cure == "wet")


def test_sizes_apart_get_their_own_smoke():
    plan = planned(species="coho_salmon", lots=[{"thickness_mm": 15.0}, {"thickness_mm": 35.0}])
    small, large = plan.stage(Stage.SMOKE, "small"), plan.stage(Stage.SMOKE, "large")

    sound(plan)
    assert small.end < large.end


said = st.fixed_dictionaries(
    {},
    optional={
        "species": st.sampled_from(["coho_salmon", "atlantic_mackerel", "rainbow_trout", "salmon", "unheard of"]),
        "thickness_mm": st.sampled_from([4.0, 10.0, 25.0, 60.0]),
        "mass_g": st.sampled_from([200.0, 2000.0, 20000.0]),
        "skin": st.sampled_from(["on", "off"]),
        "state": st.sampled_from(["fresh", "frozen", "thawed"]),
        "cure": st.sampled_from(["wet", "dry", "equilibrium"]),
        "smoke_kind": st.sampled_from(["hot", "cold"]),
        "pack": st.sampled_from(["airless", "open", "frozen"]),
        "taste": st.sampled_from(["mild", "salty"]),
        "air_c": st.sampled_from([-20.0, 5.0, 30.0]),
        "rh_pct": st.sampled_from([20.0, 95.0]),
        "fridge_c": st.sampled_from([-25.0, 1.0, 9.0]),
        "chamber_c": st.sampled_from([60.0, 110.0, 190.0]),
        "ready_by": st.sampled_from([FRIDAY + n * HOUR for n in (3, 20, 50, 200)]).map(datetime.isoformat),
        "soak_h": st.sampled_from([0.5, 12.0]),
        "start_at": st.sampled_from([FRIDAY + n * HOUR for n in (-20, -1, 5, 200)]).map(datetime.isoformat),
    },
)


@settings(max_examples=40, deadline=None)
@given(said)
def test_any_description_gets_a_sound_plan(slots):
    sound(planned(**slots))


@settings(max_examples=15, deadline=None)
@given(said)
def test_the_same_journal_gives_the_same_plan(slots):
    assert planned(**slots) == planned(**slots)


# No constant durations.


def test_an_inch_of_salmon_and_half_an_inch_of_trout_get_different_nights():
    salmon = planned(species="coho_salmon", thickness_mm=25.4, skin="on", salt_pct=10.0)
    trout = planned(species="rainbow_trout", thickness_mm=12.7, skin="off", salt_pct=10.0)

    assert hours(salmon, Stage.SOAK) > 2 * hours(trout, Stage.SOAK)
    assert abs(hours(salmon, Stage.DRY) - hours(trout, Stage.DRY)) > timedelta(minutes=1)
    assert abs(hours(salmon, Stage.SMOKE) - hours(trout, Stage.SMOKE)) > timedelta(minutes=10)
    assert hours(salmon, Stage.COOL) > hours(trout, Stage.COOL)


def test_a_cool_damp_day_dries_slower_than_a_mild_dry_one():
    damp = planned(species="coho_salmon", air_c=6.0, rh_pct=85.0)
    mild = planned(species="coho_salmon", air_c=16.0, rh_pct=55.0)

    assert hours(damp, Stage.DRY) > hours(mild, Stage.DRY) + HOUR


def test_a_fan_dries_faster():
    still, moved = (planned(species="coho_salmon", fan=fan) for fan in (False, True))

    assert hours(still, Stage.DRY) > hours(moved, Stage.DRY)


def test_skin_makes_the_soak_longer():
    skinless, skinned = (described(skin=skin).plan(NEVER_QUIET) for skin in ("off", "on"))

    assert hours(skinned, Stage.SOAK) > hours(skinless, Stage.SOAK)


def test_a_saltier_wish_is_a_longer_soak():
    mild, medium, salty = (described(thickness_mm=18.0, taste=t).plan(NEVER_QUIET) for t in ("mild", "medium", "salty"))

    assert hours(mild, Stage.SOAK) < hours(medium, Stage.SOAK) < hours(salty, Stage.SOAK)


@pytest.mark.parametrize(
    ("key", "skin"), [("coho_salmon", "on"), ("rainbow_trout", "off"), ("atlantic_mackerel", "on")]
)
def test_thicker_is_never_sooner(key, skin):
    plans = [
        described(species=key, skin=skin, thickness_mm=mm, salt_pct=14.0).plan(NEVER_QUIET)
        for mm in (8.0, 12.7, 19.0, 25.4, 32.0)
    ]
    assert not [n for p in plans for n in p.warnings if n.rule == "brine_too_weak"]

    for thinner, thicker in pairwise(plans):
        for stage in (Stage.SOAK, Stage.SMOKE, Stage.COOL):
            # A quarter hour is the grid that soaks are laid on.
            assert hours(thicker, stage) >= hours(thinner, stage) - STEP
        assert thicker.ready >= thinner.ready


def test_a_very_short_soak_is_told_to_the_minute():
    """Skinless quarter-inch strips in a strong brine take minutes: never none at all."""
    plan = described(species="rainbow_trout", skin="off", thickness_mm=6.0, salt_pct=20.0).plan()

    assert timedelta(0) < hours(plan, Stage.SOAK) < timedelta(minutes=30)
    assert "brine_too_strong" in {n.rule for n in plan.warnings}


# Refusals and wishes.


@pytest.mark.parametrize("slots", [{"salt_pct": 30.0}, {"salt_g_per_l": 500.0}, {"salt_g": 3000.0, "water_ml": 4000.0}])
def test_more_salt_than_water_holds_is_refused(slots):
    """Saturated brine is about 26.4 % salt (100 degrees salometer)."""
    with pytest.raises((OverSaturated, OutOfRange)):
        planned(species="coho_salmon", **slots)


def test_an_impossible_wish_gets_the_nearest_plan_and_a_reason():
    by = FRIDAY + 6 * HOUR
    plan = described(ready_by=by.isoformat()).plan()
    notice = next(n for n in plan.warnings if n.rule == "not_ready_in_time")

    sound(plan)
    assert notice.source
    assert notice.values["by"] == by.isoformat()
    assert notice.values["late_h"] == pytest.approx((plan.ready - by) / HOUR, abs=0.01)
    assert plan.ready <= described().plan().ready


@settings(max_examples=25, deadline=None)
@given(st.integers(2, 400))
def test_a_wish_is_met_or_its_lateness_said(quarters):
    by = FRIDAY + quarters * STEP
    plan = described(ready_by=by.isoformat()).plan()
    late = [n for n in plan.warnings if n.rule == "not_ready_in_time"]

    assert bool(late) == (plan.ready > by + timedelta(minutes=5))


def test_a_wish_that_is_on_its_way_to_be_met_is_not_called_late():
    """Once on the racks and in the smoke the plan goes by what happened, not by a fresh start."""
    racked = on_the_racks()
    by = racked.plan().ready.isoformat()
    racked.describe(ready_by=by)
    for journal in (racked, racked.after(hours=2)):
        assert "not_ready_in_time" not in {n.rule for n in journal.plan().warnings}

    smoking = in_the_smoke()
    smoking.describe(ready_by=smoking.plan().ready.isoformat()).after(hours=1)
    assert "not_ready_in_time" not in {n.rule for n in smoking.plan().warnings}


# What has begun stays where it is.


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 12 * 60), st.booleans())
def test_a_plan_made_again_is_the_same_to_the_minute(minutes, told):
    journal = described().started("soak") if told else Journal().describe(species="coho_salmon").started("soak")
    if not told:
        brine = journal.plan().brine
        mixed = {"salt_g": brine.salt_g, "sugar_g": brine.sugar_g, "water_ml": brine.water_ml, "as_planned": True}
        journal.describe(**mixed)
    before = journal.plan()
    later = journal.after(minutes=minutes).plan()
    assume(journal.now < before.stage(Stage.SOAK).end)

    for one, two in zip(before.stages, later.stages, strict=True):
        assert (two.stage, abs(two.end - one.end) < timedelta(minutes=1)) == (one.stage, True)


@settings(max_examples=10, deadline=None)
@given(st.integers(1, 13 * 60))
def test_thawing_is_counted_from_when_it_began(minutes):
    journal = described(state="frozen").started("thaw")
    before = journal.plan()
    thawed = before.stage(Stage.THAW).end
    assume(journal.now + timedelta(minutes=minutes) < thawed)
    later = journal.after(minutes=minutes).plan()

    assert abs(later.stage(Stage.THAW).end - thawed) < timedelta(minutes=1)
    assert later.stage(Stage.SOAK).start <= before.stage(Stage.SOAK).start + STEP


def test_the_salt_of_a_fish_on_the_racks_does_not_move_with_the_clock():
    journal = on_the_racks()
    one, two = journal.plan().wps, journal.after(hours=3).plan().wps

    assert two == one


@pytest.mark.parametrize("at", [on_the_racks, in_the_smoke, out_of_the_smoke])
@pytest.mark.parametrize("waited_h", [0, 1, 5, 30])
def test_what_was_begun_stays_in_order_however_late(at, waited_h):
    sound(at().after(hours=waited_h).plan())


@pytest.mark.parametrize("night", [datetime(2026, 11, 1, tzinfo=UTC), datetime(2027, 3, 14, tzinfo=UTC)])
def test_an_overnight_soak_meets_the_morning_of_a_night_of_another_length(night):
    """Pulled soon after 06:30 on the wall clock, and stages are still measured in hours that pass."""
    zone = ZoneInfo(HOME.zone)
    evening = (datetime(night.year, night.month, night.day, 18, tzinfo=zone) - timedelta(days=1)).astimezone(UTC)
    journal = Journal(opened_at=evening, now=evening).describe(species="coho_salmon", thickness_mm=25.4).started("soak")
    plan = journal.plan()
    pull = plan.stage(Stage.SOAK).end
    morning = pull.astimezone(zone)

    sound(plan)
    assert (6, 30) <= (morning.hour, morning.minute) <= (9, 0)
    assert morning.date() == night.date()
    assert hours(plan, Stage.SOAK) == pull - evening


def test_no_plan_shortens_what_safety_counts():
    """However early the wish, the smoke is not laid out shorter than it takes."""
    free, pressed = described().plan(), described(ready_by=(FRIDAY + HOUR).isoformat()).plan()

    for stage in (Stage.DRY, Stage.SMOKE, Stage.COOL):
        assert hours(pressed, stage) == hours(free, stage)


def test_fish_that_was_put_in_the_smoke_is_out_of_the_brine():
    """Whoever skips a word, or tells the pull later than the racks, still gets a sound plan."""
    skipped = described().started("soak").after(hours=1).started("smoke").after(hours=1)
    late = described().started("soak").after(hours=9).started("dry").after(hours=2).done("soak").after(hours=1)

    sound(skipped.plan())
    assert skipped.plan().stage(Stage.SOAK).done
    assert late.plan().stage(Stage.DRY).begun


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["thaw", "soak", "rinse", "rest", "dry", "smoke", "cool", "chill", "pack"]),
            st.sampled_from(["started", "done"]),
            st.integers(0, 300),
        ),
        max_size=8,
    )
)
def test_events_in_any_order_never_leave_the_batch_without_a_plan(steps):
    journal = described(state="frozen")
    for stage, what, minutes in steps:
        journal.after(minutes=minutes).event(stage=stage, **{what: True})
        plan = journal.plan()
        assert all(row.earliest <= row.end <= row.latest for row in plan.stages)
