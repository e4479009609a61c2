"""Reminders: what protects the food is rung until somebody answers, the rest lets people sleep.

Times are counted by hand from the design: quiet hours 22:30 to 06:30 hold back what can wait, never
what protects the food.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.entries import Kind
from planner.ring import Ring
from planner.rings import AFTER_ANSWER, AGAIN, ONCE_MORE, wanted
from tests.planner.journal import HOME, Journal, described, in_the_smoke, on_the_racks, out_of_the_smoke

HOUR = timedelta(hours=1)


def rings(journal: Journal) -> dict[str, Ring]:
    found = wanted(journal.plan(), HOME)
    keys = [ring.key for ring in found]
    assert len(keys) == len(set(keys))
    assert [r.due for r in found] == sorted(r.due for r in found)
    return {ring.key: ring for ring in found}


def the(journal: Journal, what: str) -> Ring:
    return next(ring for ring in rings(journal).values() if ring.what == what)


def rung(journal: Journal, ring: Ring) -> Journal:
    """Time passes to the ring, and it is rung."""
    journal.now = max(journal.now, ring.due)
    return journal.write(Kind.RING, {"key": ring.key, "what": ring.what})


def salted() -> Journal:
    """In the brine since Friday evening."""
    return described().started("soak")


def smoking_at_night() -> Journal:
    """Put into the smoke at 23:40 on Friday in Vancouver."""
    journal = described().started("soak").after(hours=2).done("soak").started("dry")
    return journal.after(hours=4).read(surface="tacky").started("smoke")


@pytest.mark.parametrize("at", [in_the_smoke, smoking_at_night])
def test_a_core_is_asked_for_again_until_it_is_read(at):
    journal = at()
    ring = the(journal, "core")
    assert ring.protects

    for i in range(12):
        rung(journal, ring)
        again = rings(journal)[ring.key]
        assert again.due == journal.now + AGAIN[min(i, len(AGAIN) - 1)]
        ring = again

    journal.read(core_c=50.0)
    assert ring.key not in rings(journal)
    assert the(journal, "core").due > journal.now


def two_lots() -> Journal:
    """Small and large pieces in the smoke together since 11:00."""
    lots = [{"thickness_mm": 28.0, "name": "small"}, {"thickness_mm": 30.0, "name": "large"}]
    journal = described(lots=lots).started("soak").after(hours=10).done("soak").started("dry")
    return journal.after(hours=4).read(surface="tacky").started("smoke").read(chamber_c=85.0)


def test_cores_to_be_read_at_about_the_same_time_are_one_call():
    """Opening the lid twice in ten minutes costs heat: common practice, no source."""
    journal = two_lots().after(hours=1).read(core_c=45.0, lot="small").read(core_c=38.0, lot="large")
    for _ in range(8):
        cores = sorted(r.due for r in wanted(journal.plan(), HOME) if r.what == "core")
        assert all(b - a > timedelta(minutes=12) for a, b in pairwise(cores))
        rung(journal, the(journal, "core"))


def test_reading_one_of_two_leaves_the_other_called_for_no_sooner_than_before():
    journal = two_lots().after(hours=1).read(core_c=45.0, lot="small").read(core_c=45.0, lot="large")
    ring = the(journal, "core")
    assert sorted(ring.data["lots"]) == ["large", "small"]
    rung(journal, ring)
    journal.after(minutes=1).read(core_c=60.0, lot="small")

    (left,) = [r for r in wanted(journal.plan(), HOME) if r.what == "core" and "large" in r.data["lots"]]
    assert left.due >= ring.due + AGAIN[0]


def test_a_cooling_time_that_ran_out_wakes_nobody():
    """The two hours to 21.1 °C are over, and no reading was taken: nothing is saved by a call at night."""
    journal = out_of_the_smoke()
    before = the(journal, "cool")
    assert before.protects
    journal.after(hours=3)

    over = the(journal, "cool")
    assert not over.protects
    assert "over" in over.key


def test_what_protects_the_food_ignores_quiet_hours():
    journal = smoking_at_night()

    assert HOME.is_quiet(the(journal, "core").due)


@pytest.mark.parametrize("what", ["fuel", "rotate"])
def test_what_can_wait_waits_for_the_morning(what):
    ring = the(smoking_at_night(), what)

    assert not ring.protects
    assert HOME.local(ring.due).strftime("%a %H:%M") == "Sat 06:30"


def test_no_ring_that_can_wait_ever_falls_into_quiet_hours():
    for at in (described, salted, on_the_racks, in_the_smoke, smoking_at_night, out_of_the_smoke):
        for ring in rings(at()).values():
            assert ring.protects or not HOME.is_quiet(ring.due)


def test_a_pull_is_rung_once_more_and_then_left():
    journal = salted()
    ring = the(journal, "pull")
    rung(journal, ring)

    once_more = rings(journal)[ring.key]
    assert once_more.due == journal.now + ONCE_MORE

    rung(journal, once_more)
    assert ring.key not in rings(journal)


def test_a_ring_that_is_put_off_comes_when_it_was_put_off_to():
    journal = salted()
    ring = the(journal, "pull")
    rung(journal, ring)
    until = journal.now + timedelta(minutes=20)
    journal.write(Kind.ANSWERED, {"key": ring.key, "until": until.isoformat()})

    assert rings(journal)[ring.key].due == until


def test_an_answer_ends_a_ring_that_can_wait():
    journal = salted()
    ring = rung(journal, the(journal, "pull")) and the(journal, "pull")
    journal.write(Kind.ANSWERED, {"key": ring.key})

    assert ring.key not in rings(journal)


def test_on_it_is_no_reading():
    journal = in_the_smoke()
    ring = the(journal, "core")
    rung(journal, ring).write(Kind.ANSWERED, {"key": ring.key})

    assert rings(journal)[ring.key].due == journal.now + AFTER_ANSWER


def test_pulling_ends_the_call_to_pull():
    assert "pull" not in rings(salted().after(hours=12).done("soak"))


def test_each_lot_is_asked_for_by_itself_and_the_small_are_out_alone():
    journal = in_the_smoke(lots=[{"thickness_mm": 15.0}, {"thickness_mm": 30.0}])
    assert {r.lot for r in rings(journal).values() if r.what == "core"} == {"small", "large"}

    for core_c in (73.0, 74.0, 74.0):
        journal.after(minutes=18).read(core_c=core_c, lot="small")
    found = rings(journal)
    assert [r.lot for r in found.values() if r.what == "core"] == ["large"]
    assert [r.lot for r in found.values() if r.what == "out"] == ["small"]


def test_a_fire_is_tended_only_while_fish_has_to_stay_in():
    journal = in_the_smoke(lots=[{"thickness_mm": 15.0}, {"thickness_mm": 30.0}])
    for core_c in (73.0, 74.0, 74.0):
        journal.after(minutes=18).read(core_c=core_c, lot="small")
    assert {r.what for r in rings(journal).values()} >= {"fuel", "rotate"}

    for core_c in (73.0, 74.0, 74.0):
        journal.after(minutes=18).read(core_c=core_c, lot="large")
    assert not {r.what for r in rings(journal).values()} & {"fuel", "rotate"}


def test_a_cooling_is_read_in_time_for_its_deadline():
    """60 to 21.1 °C within 2 h of the last reading at 60 °C or above (AFDO smoked fish practices)."""
    journal = out_of_the_smoke()
    ring = the(journal, "cool")

    assert ring.protects
    assert journal.now < ring.due < journal.now + 2 * HOUR


@pytest.mark.parametrize("core_c", [30.0, 50.0])
def test_a_lost_batch_rings_no_more(core_c):
    """Read above 21.1 °C more than two hours after it was hot: no reminder mends that."""
    journal = out_of_the_smoke().after(hours=3).read(core_c=core_c)

    assert journal.plan().lost
    assert not rings(journal)


def test_a_packed_batch_asks_only_to_be_eaten_in_time_and_how_it_was():
    journal = out_of_the_smoke().after(hours=1, minutes=30).read(core_c=19.0).after(hours=3).read(core_c=3.0)
    found = rings(journal.event(stage="pack", done=True))

    assert set(found) == {"use_by", "taste"}


def test_fish_left_in_the_warm_is_called_for_before_its_clock_ends():
    """Never-frozen mackerel at 24 °C has 4 h (FDA Hazards Guide ch. 7): somebody is woken before."""
    journal = described(species="atlantic_mackerel", thickness_mm=15.0).started("soak").after(hours=6).done("soak")
    journal.started("dry").read(air_c=24.0)
    began = journal.now
    ring = the(journal.after(minutes=30), "exposure")

    assert ring.protects
    assert began + HOUR < ring.due < began + 4 * HOUR


def test_a_fish_that_dries_in_the_cold_is_not_called_for_by_the_warm_clock():
    journal = on_the_racks().read(air_c=3.0).after(hours=6)

    assert "exposure" not in {r.what for r in rings(journal).values() if r.due < journal.now + 12 * HOUR}


@pytest.mark.parametrize("at", [described, salted, on_the_racks, in_the_smoke, out_of_the_smoke])
def test_a_reminder_keeps_its_key_and_its_time_when_nothing_is_told(at):
    journal = at()
    before = {r.key: r.due for r in rings(journal).values() if r.what != "start"}
    after = {r.key: r.due for r in rings(journal.after(minutes=7)).values()}

    for key, due in before.items():
        if due > journal.now:
            assert abs(after[key] - due) <= timedelta(minutes=2), key


_STEPS = st.lists(st.tuples(st.sampled_from(["ring", "answer", "snooze", "wait"]), st.integers(1, 90)), max_size=14)


@settings(max_examples=25, deadline=None)
@given(st.sampled_from([salted, on_the_racks, in_the_smoke, smoking_at_night, out_of_the_smoke]), _STEPS)
def test_no_ring_comes_back_before_it_was_last_rung(at, steps):
    journal = at()
    last: dict[str, datetime] = {}
    for step, minutes in steps:
        found = rings(journal)
        for key, ring in found.items():
            assert key not in last or ring.due > last[key]
        if step == "wait" or not found:
            journal.after(minutes=minutes)
            continue
        ring = min(found.values(), key=lambda r: r.due)
        if step == "ring":
            rung(journal, ring)
            last[ring.key] = journal.now
        elif ring.key in last:
            until = {"until": (journal.now + timedelta(minutes=minutes)).isoformat()} if step == "snooze" else {}
            journal.write(Kind.ANSWERED, {"key": ring.key, **until})
