"""The layout of a batch on the clock: what must hold whatever the sums say.

Expected moments are counted by hand on the clock of the zone; where clocks change, in UTC.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.habits import Habits
from planner.schedule import LONGEST_REST, STEP, SoakLength, Task, lay_out

HOUR = timedelta(hours=1)
HOME = Habits("America/Vancouver")
NEVER_QUIET = Habits("America/Vancouver", quiet=("00:00", "00:00"))
NIGHTS = {
    "an hour more": datetime(2026, 11, 1, 12, tzinfo=UTC),
    "an hour less": datetime(2027, 3, 14, 12, tzinfo=UTC),
    "an ordinary one": datetime(2026, 9, 12, 12, tzinfo=UTC),
}


def h(hours: float) -> timedelta:
    return timedelta(hours=hours)


def fixed_soak(hours: float) -> SoakLength:
    return SoakLength(h(hours), h(hours), h(hours))


moments = st.datetimes(datetime(2026, 10, 25), datetime(2027, 3, 20), timezones=st.just(UTC))  # noqa: DTZ001
habits = st.sampled_from([HOME, NEVER_QUIET, Habits("UTC", ("21:00", "05:00")), Habits("Asia/Kolkata")])


@st.composite
def soaks(draw: st.DrawFn) -> SoakLength:
    shortest, more, yet_more = draw(st.floats(0.3, 20)), draw(st.floats(0, 6)), draw(st.floats(0, 12))
    return SoakLength(h(shortest + more), h(shortest), h(shortest + more + yet_more), draw(st.booleans()))


@st.composite
def tasks(draw: st.DrawFn) -> Task:
    now = draw(moments)
    ready_by = draw(st.none() | st.floats(1, 96))
    return Task(
        now=now,
        soak=draw(soaks()),
        warm=h(draw(st.floats(2, 20))),
        chill=h(draw(st.floats(0.5, 8))),
        before=h(draw(st.sampled_from([0.0, 0.5, 14.0]))),
        ready_by=None if ready_by is None else now + h(ready_by),
    )


@settings(max_examples=60, deadline=None)
@given(tasks(), habits)
def test_nothing_starts_in_the_past_and_all_in_order(task, wanted):
    found = lay_out(task, wanted)

    assert found.start >= task.now
    assert found.start >= task.now + task.before - STEP
    assert found.pull >= found.start
    assert found.dry >= found.pull + task.between


@settings(max_examples=60, deadline=None)
@given(tasks(), habits)
def test_the_soak_and_the_rest_stay_within_their_limits(task, wanted):
    found = lay_out(task, wanted)

    assert task.soak.shortest - 2 * STEP <= found.pull - found.start <= task.soak.longest + 2 * STEP
    assert found.dry - found.pull - task.between <= LONGEST_REST + STEP


@settings(max_examples=60, deadline=None)
@given(tasks(), habits, st.floats(-200, 500), st.floats(-5, 30))
def test_what_is_fixed_is_kept(task, wanted, begun_h, pull_after_h):
    start = task.now + h(begun_h)
    pull = start + h(max(pull_after_h, 0.1))
    begun = lay_out(Task(task.now, task.soak, task.warm, task.chill, start=start), wanted)
    pulled = lay_out(Task(task.now, task.soak, task.warm, task.chill, start=start, pull=pull), wanted)

    assert begun.start == start
    assert begun.pull >= max(start, task.now)
    assert begun.dry >= begun.pull + task.between
    assert (pulled.start, pulled.pull) == (start, pull)
    assert pulled.dry >= max(pull + task.between, task.now)


@settings(max_examples=60, deadline=None)
@given(tasks())
def test_a_wish_that_can_be_met_is_met(task):
    assume(task.ready_by is not None)
    shortest = task.before + task.soak.shortest + task.between + task.warm + task.chill
    assume(task.ready_by >= task.now + shortest + 4 * STEP)

    assert lay_out(task, NEVER_QUIET).late == timedelta(0)


@settings(max_examples=60, deadline=None)
@given(tasks())
def test_lateness_is_what_the_stages_add_up_to(task):
    assume(task.ready_by is not None)
    found = lay_out(task, HOME)

    assert found.late == max(found.dry + task.warm + task.chill - task.ready_by, timedelta(0))


@settings(max_examples=60, deadline=None)
@given(moments, st.floats(8, 12), st.floats(2, 14))
def test_quiet_hours_are_left_alone_where_the_soak_has_room(now, best, warm):
    """A soak that may be eight to twenty hours always has a pull by day, and the rack can wait for morning."""
    task = Task(now, SoakLength(h(best), h(8), h(20)), h(warm), h(1))
    found = lay_out(task, HOME)

    assert not HOME.is_quiet(found.pull)
    # A quarter hour is the grid's own step.
    assert found.woken <= STEP


@pytest.mark.parametrize("night", NIGHTS)
def test_a_soak_over_the_night_is_measured_in_hours_that_pass(night):
    """Twelve hours are twelve hours, whatever the clock on the wall did."""
    noon = NIGHTS[night]
    evening = datetime.combine(noon.date() - timedelta(days=1), datetime.min.time(), ZoneInfo(HOME.zone))
    start = evening.replace(hour=20).astimezone(UTC)
    found = lay_out(Task(start, fixed_soak(12), h(6), h(2), start=start), HOME)

    assert found.pull - found.start == h(12)


@pytest.mark.parametrize(
    ("night", "utc_hour", "utc_minute"),
    # 06:30 is 13:30 UTC in daylight time and 14:30 UTC in standard time.
    [("an hour more", 14, 30), ("an hour less", 13, 30), ("an ordinary one", 13, 30)],
)
def test_quiet_hours_end_by_the_clock_on_the_wall(night, utc_hour, utc_minute):
    west = Habits("America/Los_Angeles")
    noon = NIGHTS[night]
    asleep = noon.replace(hour=11)

    assert west.is_quiet(asleep)
    assert west.quiet_end(asleep) == noon.replace(hour=utc_hour, minute=utc_minute)


@pytest.mark.parametrize("night", NIGHTS)
def test_a_soak_with_room_ends_after_the_night_is_over(night):
    noon = NIGHTS[night]
    start = (noon - h(9)).replace(minute=0)  # 20:00 or 19:00 the evening before
    found = lay_out(Task(start, SoakLength(h(8), h(6), h(16)), h(6), h(2), start=start), HOME)

    assert found.pull == HOME.quiet_end(noon.replace(hour=12))


@settings(max_examples=60, deadline=None)
@given(moments, st.sampled_from([("22:30", "06:30"), ("01:00", "05:00"), ("00:00", "23:00")]))
def test_the_end_of_quiet_hours_is_not_quiet_and_no_later_than_needed(moment, quiet):
    wanted = Habits("America/Vancouver", quiet)
    end = wanted.quiet_end(moment)

    assert end >= moment
    assert not wanted.is_quiet(end)
    assert end - moment <= h(25)
    if wanted.is_quiet(moment):
        assert all(wanted.is_quiet(moment + (end - moment) * part / 7) for part in range(7))
    else:
        assert end == moment


@settings(max_examples=40, deadline=None)
@given(tasks(), st.integers(0, 899))
def test_a_plan_made_later_in_the_same_quarter_hour_is_the_same(task, seconds):
    quarter = task.now.replace(minute=task.now.minute // 15 * 15, second=0, microsecond=0)
    begun = quarter - h(1)
    one, two = (
        lay_out(Task(now, task.soak, task.warm, task.chill, start=begun, ready_by=task.ready_by), HOME)
        for now in (quarter, quarter + timedelta(seconds=seconds))
    )

    assert two.pull == max(one.pull, quarter + timedelta(seconds=seconds))
    # Where the pull itself is due now, the rinse after it moves along.
    assert two.dry in (one.dry, max(one.dry, two.pull + Task.between))


@pytest.mark.parametrize("days", [1, 2, 6])
def test_fish_is_in_the_smoke_at_the_wished_hour(days):
    noon = datetime(2026, 9, 11, 19, tzinfo=UTC)  # noon by the clock at home
    task = Task(noon, SoakLength(h(10), h(4), h(14)), h(10), h(6), drying=h(3), smoke_at=noon + h(24 * days))
    plan = lay_out(task, HOME)
    assert abs(plan.dry + task.drying - task.smoke_at) <= STEP
    assert plan.start >= noon
