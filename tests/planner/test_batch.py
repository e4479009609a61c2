"""A batch is what its entries say: what stands, what replaces what, what a reading proves.

The rules are the design's own (principle 6: the journal is the truth); expected values are read off
the entries by hand.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.batch import WHOLE, read_batch, where
from planner.entries import Entry, Kind, standing
from planner.making import make
from planner.stages import Stage
from tests.planner.journal import FRIDAY, Journal, described, in_the_smoke

HOUR = timedelta(hours=1)


def test_a_voided_entry_does_not_count():
    journal = described(mass_g=1800.0).describe(mass_g=3000.0).void(2)

    assert journal.batch.told["mass_g"] == 1800.0


def test_voiding_a_void_brings_the_entry_back():
    journal = described().describe(mass_g=3000.0).void(2).void(3)

    assert journal.batch.told["mass_g"] == 3000.0


def test_a_void_of_a_void_of_a_void_takes_it_away_again():
    journal = described(mass_g=1800.0).describe(mass_g=3000.0).void(2).void(3).void(4)

    assert journal.batch.told["mass_g"] == 1800.0


def test_a_void_does_not_stand_against_what_is_told_later():
    journal = described().describe(mass_g=3000.0).void(2).describe(mass_g=2500.0)

    assert journal.batch.told["mass_g"] == 2500.0


@pytest.mark.parametrize(
    ("first", "then", "gone"),
    [
        ({"salt_pct": 10.0}, {"salometer_deg": 60.0}, {"salt_pct"}),
        ({"salt_ml_per_l": 60.0, "salt_kind": "kosher"}, {"salt_pct": 8.0}, {"salt_ml_per_l"}),
        ({"salt_g": 250.0, "water_ml": 3000.0}, {"salt_g_per_l": 90.0}, {"salt_g"}),
        ({"sugar_g": 100.0}, {"sugar_ml_per_l": 60.0}, {"sugar_g"}),
        ({"water_ml": 3000.0}, {"brine_ml": 4000.0}, {"water_ml"}),
        ({"thickness_mm": 25.0}, {"lots": [{"thickness_mm": 20.0}, {"thickness_mm": 30.0}]}, {"thickness_mm"}),
    ],
)
def test_a_new_way_of_saying_it_replaces_the_old(first, then, gone):
    told = Journal().describe(species="coho_salmon", **first).describe(**then).batch.told

    assert not gone & told.keys()
    assert then.items() <= told.items()
    assert (first.items() - {(k, first[k]) for k in gone}) <= told.items()


def test_lots_named_only_by_readings_are_lots():
    journal = described().read(core_c=50.0, lot="small").read(core_c=40.0, lot="large")

    assert [lot.name for lot in journal.batch.lots] == ["small", "large"]


@pytest.mark.parametrize(("named", "both"), [("small", ["small", "large"]), ("belly", ["belly", "others"])])
def test_one_named_lot_has_another_beside_it(named, both):
    assert [lot.name for lot in described().read(core_c=50.0, lot=named).batch.lots] == both


def test_lots_without_names_are_named_by_thickness():
    lots = described(lots=[{"thickness_mm": 30.0, "pieces": 2}, {"thickness_mm": 15.0, "pieces": 4}]).batch.lots

    assert [(lot.name, lot.thickness_mm, lot.pieces) for lot in lots] == [("small", 15.0, 4), ("large", 30.0, 2)]


def test_an_unnamed_reading_of_several_lots_proves_nothing():
    journal = in_the_smoke(lots=[{"thickness_mm": 15.0}, {"thickness_mm": 30.0}]).after(hours=2)
    for core_c in (72.0, 73.0, 73.0):
        journal.read(core_c=core_c).after(minutes=20)
    cooks = journal.plan().cooks

    assert journal.batch.values("core_c", "small") == []
    assert not any(cook.floor_hold.met or cook.aim_hold.met for cook in cooks.values())


def test_an_unnamed_reading_of_the_only_lot_is_of_that_lot():
    journal = described().read(core_c=40.0)

    assert [r.slots["core_c"] for r in journal.batch.values("core_c", WHOLE)] == [40.0]


def test_a_start_that_lay_ahead_when_it_was_said_is_no_fact_once_it_passes():
    journal = described(soak_start=(FRIDAY + HOUR).isoformat()).after(hours=5)

    assert journal.batch.started_at(Stage.SOAK) is None


def test_a_start_that_lay_behind_when_it_was_said_is_a_fact():
    began = FRIDAY - 2 * HOUR
    journal = described(soak_start=began.isoformat())

    assert journal.batch.started_at(Stage.SOAK) == began


def test_an_event_stands_above_the_start_that_came_with_the_description():
    journal = described(soak_start=FRIDAY.isoformat()).after(hours=1).started("soak")

    assert journal.batch.started_at(Stage.SOAK) == FRIDAY + HOUR


def test_a_dry_salted_fish_begins_to_salt():
    journal = described(cure="dry", soak_start=FRIDAY.isoformat())

    assert journal.batch.started_at(Stage.SALT) == FRIDAY
    assert journal.batch.started_at(Stage.SOAK) is None


def test_readings_told_out_of_order_stand_in_the_order_of_happening():
    journal = described().after(hours=5)
    for hours_ago, core_c in ((1, 60.0), (3, 40.0), (2, 50.0)):
        journal.read(journal.now - hours_ago * HOUR, core_c=core_c)

    assert [r.slots["core_c"] for r in journal.batch.values("core_c")] == [40.0, 50.0, 60.0]


@settings(max_examples=40, deadline=None)
@given(st.permutations(range(6)))
def test_the_order_of_telling_readings_changes_nothing(order):
    minutes_and_cores = [(0, 55.0), (20, 63.0), (40, 64.0), (60, 72.0), (80, 73.0), (95, 73.0)]
    journal = in_the_smoke().after(hours=3)
    start = journal.now - 2 * HOUR
    for i in order:
        minutes, core_c = minutes_and_cores[i]
        journal.read(start + timedelta(minutes=minutes), core_c=core_c)
    cook = journal.plan().cooks[WHOLE]

    # 72 to 73 °C from minute 60 to minute 95: 35 min at the aim, whoever tells it first.
    assert cook.aim_hold.met
    assert cook.aim_hold.met_at == start + timedelta(minutes=95)


def test_pulled_ends_the_smoke_and_begins_the_cooling_of_its_lot():
    journal = in_the_smoke(lots=[{"thickness_mm": 15.0}, {"thickness_mm": 30.0}]).after(hours=3)
    journal.event(what="pulled", lot="small")
    batch = journal.batch

    assert batch.done_at(Stage.SMOKE, "small") == batch.started_at(Stage.COOL, "small") == journal.now
    assert batch.done_at(Stage.SMOKE, "large") is None
    assert not batch.lot_done(Stage.SMOKE)


def test_where_the_work_is():
    journal = described()
    route = make(journal.batch).route
    assert (where(journal.batch, route).stage, where(journal.batch, route).begun) == (Stage.SOAK, False)

    journal.started("soak")
    assert (where(journal.batch, route).stage, where(journal.batch, route).begun) == (Stage.SOAK, True)

    journal.after(hours=12).done("soak")
    assert (where(journal.batch, route).stage, where(journal.batch, route).begun) == (Stage.RINSE, False)

    journal.started("smoke")
    assert (where(journal.batch, route).stage, where(journal.batch, route).begun) == (Stage.SMOKE, True)


_DATA = {
    Kind.DESCRIBE: [
        {"mass_g": 2000.0},
        {"salt_pct": 8.0},
        {"salometer_deg": 60.0},
        {"salt_g": 250.0, "water_ml": 3000.0},
        {"thickness_mm": 20.0},
        {"lots": [{"thickness_mm": 15.0}, {"thickness_mm": 30.0}]},
        {"soak_start": FRIDAY.isoformat()},
        {"cure": "dry"},
    ],
    Kind.READING: [{"core_c": 63.0}, {"core_c": 70.0, "lot": "small"}, {"surface": "wet"}, {"fridge_c": 3.0}],
    Kind.EVENT: [
        {"stage": "soak", "started": True},
        {"stage": "soak", "done": True},
        {"stage": "dry", "started": True},
        {"stage": "smoke", "started": True},
        {"what": "pulled"},
        {"what": "fridge"},
        {"what": "rotated"},
    ],
    Kind.CHOICE: [{"work_to_c": 62.8}, {"override": True, "stage": "pack"}],
    Kind.RING: [{"key": "pull", "what": "pull"}],
    Kind.ANSWERED: [{"key": "pull"}],
}
_SAID = st.sampled_from([(kind, data) for kind, all_data in _DATA.items() for data in all_data])


def _entries(said) -> list[Entry]:
    found = []
    for i, ((kind, data), back) in enumerate(said):
        told = FRIDAY + timedelta(minutes=10 * i)
        found.append(Entry(i + 1, kind, told - timedelta(minutes=back), told, "ida", data))
    return found


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(_SAID, st.integers(0, 300)), min_size=1, max_size=14), st.data())
def test_what_was_voided_was_never_there(said, data):
    entries = _entries(said)
    gone = data.draw(st.sampled_from(entries))
    void = Entry(len(entries) + 1, Kind.VOID, gone.told_at, entries[-1].told_at, "ida", voids=gone.number)

    assert read_batch([*entries, void], FRIDAY) == read_batch([e for e in entries if e is not gone], FRIDAY)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(_SAID, st.integers(0, 300)), min_size=1, max_size=10), st.data())
def test_the_order_in_the_list_does_not_matter(said, data):
    entries = _entries(said)
    shuffled = data.draw(st.permutations(entries))

    assert read_batch(shuffled, FRIDAY) == read_batch(entries, FRIDAY)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 20), min_size=1, max_size=12))
def test_an_entry_stands_unless_a_standing_one_voids_it(targets):
    entries = []
    for number, target in enumerate(targets, start=1):
        voids = target if 0 < target < number else None
        kind = Kind.VOID if voids else Kind.MESSAGE
        entries.append(replace(Entry(number, kind, FRIDAY, FRIDAY, "ida"), voids=voids))
    stand = {e.number for e in standing(entries)}

    for entry in entries:
        voided = any(e.voids == entry.number and e.number in stand for e in entries)
        assert (entry.number in stand) == (not voided)


def test_what_goes_back_into_the_heat_is_no_longer_out():
    """Taken out too early and put back: the smoke began when it first began, and nothing cools."""
    journal = in_the_smoke()
    began = journal.batch.started_at(Stage.SMOKE)
    journal.after(minutes=40).event(what="pulled")
    assert journal.batch.started_at(Stage.COOL) == journal.now

    batch = journal.after(minutes=5).started("smoke").batch
    assert batch.done_at(Stage.SMOKE) is None
    assert batch.started_at(Stage.COOL) is None
    assert batch.started_at(Stage.SMOKE) == began


def test_one_size_back_in_the_heat_leaves_the_other_out():
    lots = [{"thickness_mm": 13.0}, {"thickness_mm": 30.0}]
    journal = in_the_smoke(lots=lots).after(hours=1).event(what="pulled", lot="small").event(what="pulled", lot="large")
    batch = journal.after(minutes=5).started("smoke", "large").batch

    assert batch.done_at(Stage.SMOKE, "large") is None
    assert batch.done_at(Stage.SMOKE, "small") is not None


def test_what_was_long_out_is_not_taken_back():
    """Back in the heat after an hour: it has cooled, and its clocks keep that."""
    journal = in_the_smoke().after(minutes=40).event(what="pulled")
    out = journal.now

    batch = journal.after(hours=1).started("smoke").batch
    assert batch.done_at(Stage.SMOKE) == out
    assert batch.started_at(Stage.COOL) == out


def test_a_smoke_told_again_later_began_when_it_first_began():
    journal = in_the_smoke()
    began = journal.now

    assert journal.after(hours=2).started("smoke").batch.started_at(Stage.SMOKE) == began
