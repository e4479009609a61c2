"""Verdicts by hand-made cases: each row says in words what happened and why the call is what it is.

Limits: 62.8 °C and 71.1 °C for 30 min (decision: floor and aim), 60 to 21.1 °C in 2 h and 4.4 °C in 6 h,
storage at 3.3 °C, chamber not above 99 °C, cold smoke at most 32.2 °C for 20 h, histamine hours of the FDA
guide, an airless chilled pack on 3.5 % salt measured.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.batch import WHOLE
from planner.entries import Kind
from planner.judge import KEYS, pack_verdict
from planner.verdict import Call
from tests.planner.journal import Journal, described, in_the_smoke, on_the_racks, out_of_the_smoke

TWO = {"lots": [{"thickness_mm": 15.0}, {"thickness_mm": 30.0}]}


def smoked(*core_c: float, every_min: float = 15.0, **slots) -> Journal:
    """Two hours in the smoke, then cores read one after the other."""
    journal = in_the_smoke(**slots).after(hours=2)
    for value in core_c:
        journal.after(minutes=every_min).read(core_c=value)
    return journal


def cooled() -> Journal:
    """Hot long enough, 19 °C after 90 min, 3 °C after four and a half hours."""
    return out_of_the_smoke().after(minutes=90).read(core_c=19.0).after(hours=3).read(core_c=3.0)


def cold_smoked(hours: float, chamber_c: float | None, *, frozen: bool = True) -> Journal:
    """Frozen first by the rule (8 days at -22 °C), dried in the fridge, cold-smoked, chilled."""
    journal = described(smoke_kind="cold", state="thawed" if frozen else "fresh")
    if frozen:
        journal.read(fridge_c=-22.0)
        for _ in range(8):
            journal.after(days=1).read(fridge_c=-22.0)
    journal.started("soak").after(hours=4).done("soak").event(what="fridge")
    journal.read(air_c=3.0).started("smoke")
    if chamber_c is not None:
        journal.after(hours=1).read(chamber_c=chamber_c).after(hours=-1)
    return journal.after(hours=hours).done("smoke").event(what="fridge").after(hours=1).read(fridge_c=2.0)


CASES: dict[str, tuple[Callable[[], Journal], str, str]] = {
    "a core on its way up waits": (
        lambda: in_the_smoke().after(hours=1).read(core_c=45.0), "wait", "floor_not_reached",
    ),
    "at the floor the count begins": (lambda: smoked(63.5), "wait", "floor_counting"),
    "30 min at the floor are not the aim": (lambda: smoked(64.0, 64.5, 65.0, 65.0), "wait", "floor_held"),
    "at the aim the count begins": (lambda: smoked(72.0), "wait", "aim_counting"),
    "28 min at the aim are not 30": (lambda: smoked(72.0, 73.0, 73.0, every_min=14.0), "wait", "aim_counting"),
    "30 min at the aim are enough": (lambda: smoked(72.0, 73.0, 73.0, every_min=15.0), "go", "aim_held"),
    "a gap of 40 min starts the count again": (lambda: smoked(73.0, 73.0, every_min=40.0), "wait", "aim_counting"),
    "who works to the floor goes at the floor": (
        lambda: in_the_smoke().write(Kind.CHOICE, {"work_to_c": 62.8}).after(hours=2)
        .read(core_c=64.0).after(minutes=20).read(core_c=64.5).after(minutes=15).read(core_c=65.0),
        "go",
        "aim_held",
    ),
    "a chamber over 99 °C wants less fire": (lambda: smoked(50.0).read(chamber_c=105.0), "act", "chamber_too_hot"),
    "a chamber in its band is good": (lambda: smoked(50.0).read(chamber_c=88.0), "go", "chamber_in_band"),
    "an hour under 71 °C with a cold core wants fire": (
        lambda: in_the_smoke().read(chamber_c=60.0).after(minutes=70).read(chamber_c=60.0),
        "act",
        "chamber_too_cold_long",
    ),
    "cooling, two hours not over yet": (
        lambda: out_of_the_smoke().after(minutes=40).read(core_c=35.0), "wait", "cooling_on_course",
    ),
    "21.1 °C in two hours, then on to the cold": (
        lambda: out_of_the_smoke().after(minutes=100).read(core_c=20.0), "wait", "cooling_on_course",
    ),
    "still 30 °C after two hours is lost": (
        lambda: out_of_the_smoke().after(minutes=130).read(core_c=30.0), "stop", "cooling_missed",
    ),
    "20 °C first read after two hours proves nothing": (
        lambda: out_of_the_smoke().after(minutes=130).read(core_c=20.0), "act", "cooling_unproven",
    ),
    "7 °C after six hours is lost": (
        lambda: out_of_the_smoke().after(minutes=90).read(core_c=20.0).after(hours=5).read(core_c=7.0),
        "stop",
        "cooling_missed",
    ),
    "cold in both steps": (cooled, "go", "cooling_done"),
    "a core never read hot has no cooling": (
        lambda: in_the_smoke().after(hours=3).event(what="pulled").after(hours=1).read(core_c=20.0),
        "act",
        "cooling_not_started",
    ),
    "a fridge at 3 °C": (lambda: described().started("soak").read(fridge_c=3.0), "go", "fridge"),
    "a fridge at 5 °C": (lambda: described().started("soak").read(fridge_c=5.0), "act", "fridge"),
    "a fridge at 2 °C does not mend a lost cooling": (
        lambda: out_of_the_smoke().after(minutes=130).read(core_c=30.0).after(hours=3).read(fridge_c=2.0),
        "stop",
        "cooling_missed",
    ),
    "a core at 2 °C does not mend it either": (
        lambda: out_of_the_smoke().after(minutes=130).read(core_c=30.0).after(hours=5).read(core_c=2.0),
        "stop",
        "cooling_missed",
    ),
    "chilled, but stored at 6 °C": (lambda: cooled().after(hours=2).read(core_c=6.0), "wait", "fridge"),
    "chilled and cold": (lambda: cooled().after(hours=2).read(core_c=2.5), "go", "fridge"),
    "wet skin": (lambda: on_the_racks().after(hours=2).read(surface="wet"), "wait", "skin_wet"),
    "damp skin": (lambda: on_the_racks().after(hours=2).read(surface="damp"), "wait", "skin_damp"),
    "tacky skin": (lambda: on_the_racks().after(hours=2).read(surface="tacky"), "go", "skin_tacky"),
    "air that cannot dry": (lambda: on_the_racks().read(air_c=15.0, rh_pct=99.0), "act", ""),
    "a tacky skin does not mend a spent clock": (
        # 9 h at 18 °C, never frozen: 8 h is the limit.
        lambda: on_the_racks(species="atlantic_mackerel").read(air_c=18.0).after(hours=9).read(surface="tacky"),
        "stop",
        "exposure_spent",
    ),
    "nor does a hot core": (
        lambda: on_the_racks(species="atlantic_mackerel").read(air_c=18.0).after(hours=9).started("smoke")
        .after(hours=2).read(core_c=73.0).after(minutes=20).read(core_c=74.0).after(minutes=20).read(core_c=74.0),
        "stop",
        "exposure_spent",
    ),
    "a cold smoke at 24 °C waits": (
        lambda: described(smoke_kind="cold").started("smoke").after(hours=2).read(chamber_c=24.0),
        "wait",
        "cold_smoke_window",
    ),
    "a cold smoke at 35 °C is too warm": (
        lambda: described(smoke_kind="cold").started("smoke").after(hours=2).read(chamber_c=35.0),
        "act",
        "cold_smoke_too_warm",
    ),
    "a cold smoke of 21 h is lost": (
        lambda: described(smoke_kind="cold").started("smoke").after(hours=21).read(chamber_c=24.0),
        "stop",
        "cold_smoke_spent",
    ),
    "measured salt is noted": (lambda: described(pack="airless").read(wps_pct=3.6), "noted", "wps_enough"),
    "too little of it as well": (lambda: described(pack="airless").read(wps_pct=3.4), "noted", "wps_too_low"),
    "firmness opens nothing": (lambda: smoked(50.0).read(firmness="firm"), "noted", "felt"),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_call_and_its_reason(case):
    made, call, rule = CASES[case]
    verdict = made().verdict()

    assert verdict.call == call
    assert not rule or rule in {reason.rule for reason in verdict.reasons}
    assert all(reason.source for reason in verdict.reasons)
    assert verdict.reasons


@pytest.mark.parametrize("case", [c for c, (_, call, _) in CASES.items() if call == "wait"])
def test_wait_says_when_to_look_again(case):
    journal = CASES[case][0]()
    verdict = journal.verdict()
    if verdict.about == "chamber_c":
        return  # its look is that of the core
    assert verdict.next_look is not None
    assert verdict.next_look > journal.now


@pytest.mark.parametrize("case", [c for c, (_, call, _) in CASES.items() if call == "stop"])
def test_stop_expects_nothing_more(case):
    verdict = CASES[case][0]().verdict()

    assert (verdict.next_look, verdict.eta, verdict.etas) == (None, None, ())


@pytest.mark.parametrize("core_c", [62.0, 45.0])
def test_a_lower_reading_starts_the_hold_again(core_c):
    journal = smoked(72.0, core_c, 72.0, 72.0, every_min=16.0)

    assert journal.verdict().call is Call.WAIT
    journal.after(minutes=16).read(core_c=72.0)
    assert journal.verdict().call is Call.GO


def test_a_chamber_under_the_mark_breaks_the_hold():
    journal = smoked(72.0).after(minutes=10).read(chamber_c=50.0).after(minutes=10).read(core_c=72.0)
    journal.after(minutes=12).read(core_c=72.0)

    assert journal.verdict().call is not Call.GO


def test_each_lot_is_judged_by_its_own_readings():
    journal = in_the_smoke(**TWO).after(hours=2)
    for core_c in (72.0, 73.0, 73.0):
        journal.after(minutes=16).read(core_c=core_c, lot="small")
    assert (journal.verdict().call, journal.verdict().lot) == (Call.GO, "small")

    journal.read(core_c=73.0, lot="large")
    assert (journal.verdict().call, journal.verdict().lot) == (Call.WAIT, "large")


def test_a_lost_lot_is_no_reason_to_stop_the_other_one():
    journal = in_the_smoke(**TWO).after(hours=2)
    for core_c in (73.0, 74.0, 74.0):
        journal.after(minutes=16).read(core_c=core_c, lot="small")
    journal.event(what="pulled", lot="small").after(minutes=130).read(core_c=40.0, lot="small")
    assert journal.verdict().call is Call.STOP

    for core_c in (72.0, 73.0, 73.0):
        journal.after(minutes=16).read(core_c=core_c, lot="large")
    assert journal.verdict().call is Call.GO
    assert pack_verdict(journal.plan()).call is Call.STOP


# Packing.

PACKING: dict[str, tuple[Callable[[], Journal], str, set[str]]] = {
    "all proven": (cooled, "go", set()),
    "nothing read since the brine": (described, "wait", {"not_smoked", "not_cooled", "cold_not_read"}),
    "never hot": (
        lambda: in_the_smoke().after(hours=3).event(what="pulled").after(hours=4).read(core_c=3.0),
        "act",
        {"floor_not_held", "cooling_not_started"},
    ),
    "hot at the floor only": (
        lambda: smoked(64.0, 65.0, 65.0).event(what="pulled").after(minutes=90).read(core_c=19.0)
        .after(hours=3).read(core_c=3.0),
        "act",
        {"aim_not_held"},
    ),
    "cooled too slowly": (
        lambda: out_of_the_smoke().after(minutes=130).read(core_c=30.0).after(hours=5).read(core_c=3.0),
        "stop",
        {"cooling_missed"},
    ),
    "stored too warm": (lambda: cooled().after(hours=5).read(fridge_c=6.0), "act", {"too_warm"}),
    "airless on an estimate": (
        lambda: out_of_the_smoke(pack="airless", taste="salty").after(minutes=90).read(core_c=19.0)
        .after(hours=3).read(core_c=3.0).read(fridge_c=2.0),
        "act",
        {"wps_not_measured"},
    ),
    "airless on too little salt": (
        lambda: out_of_the_smoke(pack="airless").after(minutes=90).read(core_c=19.0).after(hours=3)
        .read(core_c=3.0).read(fridge_c=2.0).read(wps_pct=3.4),
        "act",
        {"wps_too_low"},
    ),
    "airless on a fridge at 5 °C": (
        lambda: out_of_the_smoke(pack="airless").after(minutes=90).read(core_c=19.0).after(hours=3)
        .read(core_c=3.0).read(fridge_c=5.0).after(hours=1).read(fridge_c=3.0).read(wps_pct=3.6),
        "act",
        {"fridge_too_warm"},
    ),
    "airless, measured and cold": (
        lambda: out_of_the_smoke(pack="airless").after(minutes=90).read(core_c=19.0).after(hours=3)
        .read(core_c=3.0).read(fridge_c=3.0).read(wps_pct=3.6),
        "go",
        set(),
    ),
    "cold-smoked within its window": (lambda: cold_smoked(10, 24.0), "go", set()),
    "cold-smoked too long": (lambda: cold_smoked(21, 24.0), "stop", {"cold_smoke_spent"}),
    "cold-smoked too warm": (lambda: cold_smoked(10, 36.0), "act", {"cold_smoke_too_warm"}),
    "cold-smoked, chamber not read": (lambda: cold_smoked(10, None), "act", {"chamber_not_read"}),
    "cold-smoked, not frozen first": (lambda: cold_smoked(10, 24.0, frozen=False), "act", {"parasites_not_frozen"}),
}  # fmt: skip


@pytest.mark.parametrize("case", PACKING)
def test_packing(case):
    made, call, missing = PACKING[case]
    verdict = pack_verdict(made().plan())

    assert {reason.rule for reason in verdict.reasons} >= missing
    assert verdict.call == call


READ = st.one_of(
    st.tuples(st.just("core_c"), st.sampled_from([2.0, 20.0, 45.0, 63.0, 72.0, 75.0])),
    st.tuples(st.just("chamber_c"), st.sampled_from([20.0, 60.0, 88.0, 110.0])),
    st.tuples(st.just("fridge_c"), st.sampled_from([2.0, 8.0])),
    st.tuples(st.just("surface"), st.sampled_from(["wet", "tacky"])),
    st.tuples(st.just("air_c"), st.sampled_from([3.0, 25.0])),
    st.tuples(st.just("what"), st.sampled_from(["pulled", "fridge", "rotated"])),
)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["coho_salmon", "atlantic_mackerel"]),
    st.sampled_from([described, on_the_racks, in_the_smoke, out_of_the_smoke]),
    st.lists(st.tuples(READ, st.integers(1, 200)), min_size=1, max_size=8),
)
def test_nothing_goes_where_a_limit_is_broken(species, at, steps):
    journal = at(species=species, thickness_mm=15.0)
    for (key, value), minutes in steps:
        journal.after(minutes=minutes)
        if key == "what":
            journal.event(what=value)
            continue
        journal.read(**{key: value})
        plan, verdict = journal.plan(), journal.verdict()
        assert verdict.about in KEYS
        if plan.lost:
            assert verdict.call in (Call.STOP, Call.NOTED)
            assert pack_verdict(plan).call is Call.STOP
        if pack_verdict(plan).call is Call.GO:
            assert all(gate.open for gate in plan.gates)
        if verdict.call is Call.WAIT and verdict.next_look is not None:
            assert verdict.next_look >= journal.now


@given(
    cores=st.lists(st.floats(5.0, 95.0), min_size=1, max_size=4),
    gaps=st.lists(st.integers(5, 90), min_size=4, max_size=4),
)
@settings(max_examples=25)
def test_nothing_is_hot_long_enough_sooner_than_readings_can_show(cores: list[float], gaps: list[int]):
    """Thirty minutes from the first reading that counts, whatever the sums make of what was not read (decision 2)."""
    journal = in_the_smoke()
    for core_c, minutes in zip(cores, gaps, strict=False):
        journal.after(minutes=minutes).read(core_c=core_c)
    cook = journal.plan().cooks[WHOLE]

    if cook.hold_end is not None:
        first = cook.aim_hold.since or journal.now
        assert cook.hold_end.p10 >= first + timedelta(minutes=30)
        assert cook.hold_end.p10 <= cook.hold_end.p50 <= cook.hold_end.p90


def test_a_core_that_fell_far_is_asked_whether_it_is_out():
    """Out of the heat and not said so: nothing in a smoker that burns loses 40 K in an hour."""
    verdict = in_the_smoke().after(hours=1).read(core_c=64.0).after(hours=1).read(core_c=24.0).verdict()

    assert "core_fallen" in {reason.rule for reason in verdict.reasons}
    assert verdict.call is not Call.GO


def test_a_core_that_sags_as_the_door_opens_has_not_fallen():
    verdict = in_the_smoke().after(hours=1).read(core_c=64.0).after(minutes=10).read(core_c=61.0).verdict()

    assert "core_fallen" not in {reason.rule for reason in verdict.reasons}


def test_hours_on_the_bench_are_not_undone_by_heating_again():
    """Out at 72 °C, four hours unread, heated again, then cooled as it should be: not shown to be cooled in time."""
    journal = in_the_smoke().after(hours=1).read(core_c=72.0).event(what="pulled").after(hours=4).started("smoke")
    journal.after(hours=1).read(core_c=74.0).after(minutes=32).read(core_c=74.0).event(what="pulled")
    journal.after(hours=1).read(core_c=20.0).after(hours=2).read(core_c=3.0)

    gates = {gate.name: gate for gate in journal.plan().gates}
    assert not gates["cooled"].open
