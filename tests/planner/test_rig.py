"""What finished batches do to the next plan, and what they never do."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.batch import Told
from planner.entries import Entry, Kind
from planner.judge import judge
from planner.plan import Plan
from planner.planning import plan_batch
from planner.rig.belief import Lesson
from planner.rig.closing import again, close
from planner.rig.comparing import differences
from planner.rig.experience import NOTHING, Experience, experience, model_sd
from planner.rig.finished import Finished, lesson_in
from planner.rig.groups import groups
from planner.rig.taste import changed_pct, taste_after
from planner.sources import rules
from planner.unknowns import usual
from planner.verdict import Call
from tests.planner.journal import FRIDAY, HOME, Journal, described, in_the_smoke, on_the_racks, out_of_the_smoke


def packed(**slots) -> Journal:
    """A whole batch with the readings that people send."""
    journal = described(mass_g=1800.0, **slots).started("soak").after(hours=13).done("soak").after(minutes=15)
    journal.started("dry").after(hours=2).read(surface="damp").after(minutes=30).read(surface="tacky")
    journal.started("smoke").read(chamber_c=88.0)
    for minutes, core in ((60, 45.0), (40, 58.0), (30, 66.0), (25, 71.5), (31, 73.0)):
        journal.after(minutes=minutes).read(core_c=core, chamber_c=88.0)
    journal.after(minutes=1).event(what="pulled").after(minutes=80).read(core_c=19.0)
    journal.after(hours=2).read(core_c=3.0).read(mass_g=1300.0).after(minutes=10).read(fridge_c=2.0)
    return journal.after(hours=8).done("pack")


@pytest.fixture(scope="module")
def finished() -> Finished:
    return close(packed().plan(), "coho", 1)


def planned(known: Experience, journal: Journal | None = None) -> Plan:
    journal = journal or described(mass_g=1800.0)
    return plan_batch(journal.batch, HOME, journal.now, known)


def widths(plan: Plan) -> tuple[float, float]:
    assert plan.lengths is not None
    dry, (smoke,) = plan.lengths.dry, plan.lengths.smoke.values()
    return math.log(dry.high / dry.low), math.log(smoke.high / smoke.low)


def test_a_finished_batch_narrows_the_next_plan(finished: Finished) -> None:
    fresh, taught = widths(planned(NOTHING)), widths(planned(experience([finished], None)))
    again = widths(planned(experience([finished, replace(finished, batch=2)], None)))
    assert taught[0] < 0.95 * fresh[0]
    assert taught[1] < 0.95 * fresh[1]
    assert again[0] < taught[0]
    assert again[1] < taught[1]


def test_nothing_finished_plans_as_if_nothing_could_be_learned() -> None:
    assert planned(experience([], None)) == planned(NOTHING)
    assert experience([], None).smoke is None


def test_a_slower_rig_is_planned_slower() -> None:
    """A skin that took twice as long makes the next one long; what was told of it is all that differs."""
    slow = on_the_racks().after(hours=7).read(surface="damp").after(minutes=30).read(surface="tacky").done("pack")
    quick = on_the_racks().after(hours=1).read(surface="damp").after(minutes=20).read(surface="tacky").done("pack")
    hours = []
    for journal in (quick, slow):
        lesson = close(journal.plan(), "coho", 1)
        length = planned(experience([lesson], None)).lengths
        assert length is not None
        hours.append(length.dry.mid)
    usually = planned(NOTHING).lengths
    assert usually is not None
    assert hours[0] < usually.dry.mid < hours[1]


def test_fridge_and_loss_are_the_rig_s_own(finished: Finished) -> None:
    own = experience([replace(finished, batch=n) for n in range(8)], None)
    assert own.fridge_c is not None
    assert own.fridge_c.batches == 8
    assert planned(own).making.fridge_c == pytest.approx(2.0, abs=0.3)
    assert planned(own).making.assumed == planned(NOTHING).making.assumed
    # 1800 g became 1300 g: 27.8 % lost, which eight batches in agreement nearly settle.
    assert 100.0 - planned(own).yield_pct == pytest.approx(27.8, abs=2.0)


def test_a_lesson_does_not_hang_on_what_was_known_before(finished: Finished) -> None:
    """Else a batch could not be taken out again: the same journal teaches the same in any chat."""
    journal = packed()
    after = close(plan_batch(journal.batch, HOME, journal.now, experience([finished], None)), "coho", 1)
    for group in ("drying", "smoke", "fridge"):
        assert after.taught[group].to_json() == finished.taught[group].to_json()
    assert after.taught["loss"].pull == pytest.approx(finished.taught["loss"].pull, rel=0.05)


def test_a_lesson_is_small_and_survives_the_journal(finished: Finished) -> None:
    data = json.loads(json.dumps(finished.to_json()))
    entry = Entry(9, Kind.LESSON, FRIDAY, FRIDAY, "bell", data)
    kept = Finished.from_entry(1, "coho", entry)
    assert kept.to_json() == finished.to_json()
    assert len(json.dumps(data)) < 2000
    assert experience([kept], None).smoke == pytest.approx(experience([kept], None).smoke)


def test_the_newest_lesson_counts_unless_it_is_voided() -> None:
    one, two = (Entry(n, Kind.LESSON, FRIDAY, FRIDAY, "bell", {}) for n in (3, 5))
    assert lesson_in([one, two]) is two
    assert lesson_in([one, two, Entry(6, Kind.VOID, FRIDAY, FRIDAY, "ida", voids=5)]) is None
    assert lesson_in([]) is None


def test_ten_thousand_batches_are_no_more_than_the_newest(finished: Finished) -> None:
    many = [replace(finished, batch=n, packed_at=FRIDAY + timedelta(hours=n)) for n in range(10_000)]
    newest = many[-rules("rig")["memory"]["batches"] :]
    assert experience(many, None) == experience(newest, None)


def test_each_rig_learns_from_its_own_batches(finished: Finished) -> None:
    drum, box = replace(finished, rig="drum"), replace(finished, batch=2, rig="box")
    assert experience([drum, box], "drum").smoke == experience([drum], "drum").smoke
    assert experience([drum], "box").smoke is None
    # Batches from before the first name are that rig's.
    assert experience([finished, replace(drum, batch=3)], "drum").smoke.batches == 2
    assert experience([finished, replace(drum, batch=3)], "box").smoke is None


def test_what_no_run_has_is_never_learned_away() -> None:
    whole, batch = rules("heat")["smoker"]["model_sd"], rules("rig")["model"]["batch_sd"]
    assert model_sd(0) == pytest.approx(whole)
    sds = [model_sd(n) for n in range(30)]
    assert all(a > b > batch for a, b in pairwise(sds))


# --- what learning never does -----------------------------------------------------------------------------------------


def strong(values: list[float]) -> Lesson:
    """Each of these values, read to a seventh."""
    precision = 50.0 * np.eye(len(values))
    return Lesson(tuple(50.0 * v for v in values), tuple(map(tuple, precision.tolist())))


@st.composite
def any_experience(draw) -> Experience:
    """Lessons of any strength and any direction, far beyond what batches teach."""
    numbers = st.floats(-3.0, 3.0)
    lessons = []
    for n in range(draw(st.integers(1, 4))):
        taught = {group: strong([draw(numbers) for _ in own.names]) for group, own in groups().items()}
        tasted = (draw(st.sampled_from(sorted(rules("rig")["tasted"]["words"]))),)
        made = {"taste_wps_pct": draw(st.floats(1.5, 5.0)), "chamber_aim_c": draw(st.floats(70.0, 100.0))}
        lessons.append(Finished(n, "coho", FRIDAY + timedelta(hours=n), None, taught, made, {}, tasted))
    return experience(lessons, None)


def gated(journal: Journal, known: Experience) -> tuple:
    plan = plan_batch(journal.batch, HOME, journal.now, known)
    last = next((e for e in reversed(journal.entries) if e.kind is Kind.READING), None)
    call = judge(plan, Told(last.happened_at, last.data, last.number, last.who)).call if last else None
    return (
        [(g.name, g.open, g.missing, g.lot, g.source) for g in plan.gates],
        [(c.floor_hold, c.aim_hold, c.lethality) for c in plan.cooks.values()],
        [c.cooling for c in plan.coolings.values()],
        plan.lost,
        call in (Call.GO, Call.STOP) and call,
    )


JOURNALS = {
    "described": described,
    "drying": lambda: on_the_racks().after(hours=2).read(surface="damp"),
    "hot for one reading": lambda: in_the_smoke().after(hours=2).read(core_c=73.0),
    "held too short": lambda: in_the_smoke().after(hours=2).read(core_c=73.0).after(minutes=20).read(core_c=74.0),
    "held": lambda: in_the_smoke().after(hours=2).read(core_c=73.0).after(minutes=30).read(core_c=74.0),
    "cooling": lambda: out_of_the_smoke().after(minutes=90).read(core_c=25.0),
    "cooled too slowly": lambda: out_of_the_smoke().after(hours=3).read(core_c=25.0),
    "airless with no measured salt": lambda: out_of_the_smoke(pack="airless")
    .after(minutes=90).read(core_c=19.0).after(hours=2).read(core_c=3.0).read(fridge_c=2.0),
    "a fridge never read": lambda: out_of_the_smoke().after(minutes=90).read(core_c=19.0).after(hours=3),
}  # fmt: skip


@pytest.mark.parametrize("name", JOURNALS)
@settings(max_examples=4, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(any_experience())
def test_nothing_learned_moves_a_gate(name: str, known: Experience) -> None:
    journal = JOURNALS[name]()
    assert gated(journal, known) == gated(journal, NOTHING)


@settings(max_examples=30, deadline=None)
@given(any_experience())
def test_no_taste_lowers_the_salt_of_an_airless_pack(known: Experience) -> None:
    """FDA Hazards Guide, 4th ed., ch. 13: 3.5 % water-phase salt for air-excluding packages of smoked fish."""
    making = planned(known, described(pack="airless")).making
    assert making.taste_wps >= 3.5
    assert planned(known).making.taste_wps == pytest.approx(known.taste.wps_pct)


def test_no_taste_takes_the_chamber_out_of_its_band() -> None:
    """Common practice: 82 to 93 °C."""
    dry = Finished(1, "coho", FRIDAY, made={"taste_wps_pct": 3.0, "chamber_aim_c": 83.0}, tasted=("too_dry",))
    soft = replace(dry, made={"taste_wps_pct": 3.0, "chamber_aim_c": 92.0}, tasted=("too_soft",))
    assert taste_after([dry]).chamber_c == 82.0
    assert taste_after([soft]).chamber_c == 93.0


# --- taste ------------------------------------------------------------------------------------------------------------


def meal(*words: str, wps: float = 3.0) -> Finished:
    return Finished(1, "coho", FRIDAY, made={"taste_wps_pct": wps, "chamber_aim_c": 88.0}, tasted=words)


@pytest.mark.parametrize(
    ("word", "sign"), [("too_salty", -1), ("bit_salty", -1), ("bit_bland", 1), ("too_bland", 1), ("just_right", 0)]
)
def test_a_word_moves_the_salt_its_way(word: str, sign: int) -> None:
    moved = taste_after([meal(word)])
    assert (moved.wps_pct > 3.0) - (moved.wps_pct < 3.0) == sign
    assert not moved.chamber_moved


def test_a_stronger_word_moves_it_further() -> None:
    assert taste_after([meal("too_salty")]).wps_pct < taste_after([meal("bit_salty")]).wps_pct
    assert changed_pct(3.0, "much_less") < changed_pct(3.0, "less") < 3.0 < changed_pct(3.0, "more")


def test_the_newest_meal_that_something_was_said_of_counts() -> None:
    old, new, silent = meal("too_salty"), replace(meal("too_bland"), batch=2), replace(meal(), batch=3)
    assert taste_after([old, new, silent]).wps_pct > 3.0
    assert taste_after([silent]) is None


def test_a_taste_that_was_said_for_this_batch_stands_above_the_last_meal() -> None:
    known = Experience(taste=taste_after([meal("too_salty")]))
    assert planned(known, described(taste="salty")).making.taste_wps == 4.0
    assert planned(known, described(taste_wps_pct=2.2)).making.taste_wps == 2.2


def test_a_dry_meal_cools_the_chamber_only_where_nobody_read_one() -> None:
    known = Experience(taste=taste_after([meal("bit_dry")]))
    assert planned(known).making.chamber_c == 85.0
    assert planned(known, described().read(chamber_c=90.0)).making.chamber_c == 90.0


# --- made again, and compared -----------------------------------------------------------------------------------------


def test_the_recipe_makes_the_same_again(finished: Finished) -> None:
    slots = again(finished)
    assert {k: slots[k] for k in ("species", "thickness_mm", "salt_pct")} == {
        "species": "coho_salmon",
        "thickness_mm": 25.4,
        "salt_pct": 10.0,
    }
    assert "mass_g" not in slots
    plan = planned(NOTHING, described(**slots, mass_g=1800.0))
    assert plan.wps.mean == pytest.approx(finished.made["wps_pct"], abs=0.3)


def test_the_three_that_matter_come_first() -> None:
    then = {"thickness_mm": 25.0, "dry_h": 3.0, "chamber_c": 88.0, "fridge_c": 2.0, "rh_pct": 60.0, "smoke_h": 3.0}
    now = then | {"dry_h": 6.0, "chamber_c": 80.0, "rh_pct": 78.0, "fridge_c": 2.5, "soak_h": 12.0}
    assert [d.key for d in differences(now, then)] == ["dry_h", "chamber_c", "rh_pct"]
    assert differences(then, then) == ()


@given(st.dictionaries(st.sampled_from(sorted(rules("compare"))), st.floats(0.0, 300.0)), st.data())
def test_differences_are_the_same_from_both_sides(then, data) -> None:
    now = data.draw(st.dictionaries(st.sampled_from(sorted(rules("compare"))), st.floats(0.0, 300.0)))
    one, other = differences(now, then), differences(then, now)
    assert {(d.key, d.now, d.then) for d in one} == {(d.key, d.then, d.now) for d in other}
    assert all(d.key in now and d.key in then and d.weight >= 1.0 for d in one)


def test_the_usual_prior_is_what_a_rig_of_which_nothing_is_known_has() -> None:
    own = groups()["smoke"].of_next_batch(())
    assert own.sd == pytest.approx([usual().sd[i] for i in (1, 3, 4)])
