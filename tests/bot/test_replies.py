"""What is said: short enough for a phone, with facts as the contract has them, and words for every rule.

No outside reference is needed: the contract (section 5) and the design (principle 1) are the measure.
"""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest

import planner
from bot import facts
from bot.say import notice, why
from bot.say.answer import CALL
from bot.say.format import Pen
from bot.say.notice import notice_words
from bot.say.plan import plan_words
from bot.say.ring import ring_words
from bot.say.verdict import verdict_words
from planner.airless import airless_gate
from planner.chamber_rule import ChamberState
from planner.cooling_rule import CoolState
from planner.judge import judge, pack_verdict
from planner.plan import Notice
from planner.rings import wanted
from planner.verdict import Reason
from scheduler.turn import Message
from tests.bot.contract import check
from tests.bot.talk import Talk
from tests.planner.journal import FRIDAY, HOME, Journal
from tests.planner.test_judge import CASES, PACKING

PENS = [Pen(FRIDAY, "America/Vancouver", "us"), Pen(FRIDAY, "Europe/Oslo", "metric")]
#: Two lines of a phone's screen and a bit: the line on what was assumed, which is one line by design.
LONGEST_LINE = 150

# Words for every rule.

_COLD = {"fridge", "thaw", "long_brine", "brine_start", "dry_salted", "dry_before_cold_smoke"}
_AIRLESS = {"wps_not_measured", "wps_too_low", "fridge_not_read", "fridge_not_read_lately", "fridge_too_warm"}

#: What the calls of ``Reason``, ``Notice`` and ``Gate`` that take no plain string can come to, by module
#: and expression. A new expression belongs in here, with all its values.
COMES_TO: dict[tuple[str, str], set[str]] = {
    ("gates", "missing"): {
        "aim_not_held", "floor_not_held", "cold_smoke_spent", "cold_smoke_too_warm", "chamber_not_read",
        *(f"cooling_{state}" for state in CoolState if state is not CoolState.DONE),
    },
    ("gates", "gate.missing[0] if gate.missing else None"): _AIRLESS,
    ("gates", "'spent' if exposure.spent else None"): {"spent"},
    ("gates", "None if proven else 'parasites_not_frozen'"): {"parasites_not_frozen"},
    ("gates", "None if met else 'too_warm'"): {"too_warm"},
    ("judge", "gate.missing or gate.name"): set(),
    ("judge", "f'skin_{touch}'"): {"skin_wet", "skin_damp", "skin_tacky", "skin_dry"},
    ("judge", "f'hold_broken_{broken}'"): {"hold_broken_core_below", "hold_broken_chamber_below", "hold_broken_gap"},
    ("judge", "key"): {"wps_enough", "wps_too_low"},
    ("judge", "chamber.state"): set(ChamberState),
    ("judge", "hot.state"): set(ChamberState),
    ("judge", "'cold_smoke_spent' if cold.spent else rule"): {
        "cold_smoke_spent", "cold_smoke_too_warm", "cold_smoke_window",
    },
    ("judge", "check.rule"): {"thaw"},
    ("judge", "rule"): {"cooling_too_slow", *(f"cooling_{state}" for state in CoolState)},
    ("judge", "why"): {"too_humid", "condensation"},
    ("notices", "f'air_{length.cannot_dry}'"): {"air_too_humid", "air_condensation"},
}  # fmt: skip


def _calls() -> Iterator[tuple[str, str, ast.expr]]:
    """(what is made, module, the rule's expression) of every call in the planner."""
    for path in sorted(Path(planner.__file__).parent.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.args):
                continue
            if node.func.id in ("Reason", "Notice"):
                yield node.func.id, path.stem, node.args[0]
            elif node.func.id == "Gate":
                yield "Reason", path.stem, node.args[0]
                yield "Reason", path.stem, node.args[2]


def _rules(made: str) -> set[str]:
    found: set[str] = set()
    for kind, module, expression in _calls():
        if kind != made:
            continue
        if isinstance(expression, ast.Constant):
            found |= {expression.value} - {None}
        else:
            found |= COMES_TO[module, ast.unparse(expression)]
    return found


def test_every_expression_for_a_rule_is_listed():
    dynamic = {(m, ast.unparse(e)) for _, m, e in _calls() if not isinstance(e, ast.Constant)}

    assert dynamic == set(COMES_TO)


def test_the_airless_gate_knows_no_other_keys():
    missing = set(airless_gate(None, [], FRIDAY).missing) | set(airless_gate(1.0, [], FRIDAY).missing)

    assert missing <= _AIRLESS


@pytest.mark.parametrize("rule", sorted(_rules("Reason")))
def test_every_reason_has_words(rule):
    assert why.knows(rule)


@pytest.mark.parametrize("rule", sorted(_rules("Notice")))
def test_every_notice_has_words(rule):
    assert notice.knows(rule)


@pytest.mark.parametrize("pen", PENS, ids=["us", "metric"])
@pytest.mark.parametrize("case", [*CASES, *PACKING])
def test_every_verdict_can_be_said(case, pen):
    journal = (CASES.get(case) or PACKING[case])[0]()
    plan, pen = journal.plan(), replace(pen, now=journal.now)
    verdict = journal.verdict() if case in CASES else pack_verdict(plan)
    text = verdict_words(verdict, plan, pen)

    check(facts.verdict(verdict, pen))
    short_enough(text, 9)
    assert text.splitlines()[0].rstrip(".!?")


def _plans() -> Iterator[Journal]:
    far, soon = FRIDAY.replace(day=20).isoformat(), FRIDAY.replace(hour=6).isoformat()
    fish = ["coho_salmon", "atlantic_mackerel", "x"]
    for species, pack, smoke_kind in product(fish, ["airless", "open"], ["hot", "cold"]):
        yield Journal().describe(species=species, pack=pack, smoke_kind=smoke_kind)
    yield Journal().describe(species="grouper", ready_by=soon)
    yield Journal().describe(species="coho_salmon", salt_ml_per_l=60.0, salt_kind="kosher", ready_by=far)
    yield Journal().describe(species="coho_salmon", salt_pct=2.0, fridge_c=9.0, chamber_c=65.0)
    yield Journal().describe(species="rainbow_trout", thickness_mm=5.0, skin="off", salt_pct=20.0)
    yield Journal().describe(species="coho_salmon", air_c=15.0, rh_pct=99.0, cure="dry")
    yield Journal().describe(species="coho_salmon", air_c=30.0, rh_pct=95.0, thickness_mm=60.0, cure="equilibrium")
    yield Journal().describe(species="atlantic_mackerel", warm_h=12.0)


@pytest.mark.parametrize("pen", PENS, ids=["us", "metric"])
@pytest.mark.parametrize("n", range(19))
def test_every_plan_and_its_reminders_can_be_said(n, pen):
    journal = list(_plans())[n]
    plan = journal.plan()

    check(facts.plan(plan, 1, pen))
    json.dumps(facts.plan(plan, 1, pen))
    short_enough(plan_words(plan, pen, first=True), 25)
    for said in plan.warnings:
        assert notice_words(said, pen).rstrip(".")
    for ring in wanted(plan, HOME):
        text, _ = ring_words(ring, plan, pen, names=(), late=FRIDAY - FRIDAY, again=0)
        short_enough(text, 6)


def test_the_number_of_plans_is_that_of_the_test():
    assert len(list(_plans())) == 19


def test_every_reminder_has_a_name_in_lists():
    """Each ``Ring(key, due, what, …)`` of the planner is called something in "what's next"."""
    source = (Path(planner.__file__).parent / "rings.py").read_text()
    literal = {
        node.args[2].value
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "Ring"
        and isinstance(node.args[2], ast.Constant)
    }

    assert {"core", "cool", "exposure"} <= literal
    assert literal <= CALL.keys()


def test_an_unknown_rule_is_a_fault_and_not_silence():
    with pytest.raises(KeyError):
        why.reason_words(Reason("never heard of", ""), PENS[0])
    with pytest.raises(KeyError):
        notice_words(Notice("never heard of", ""), PENS[0])


# A phone's screen.


def short_enough(text: str, lines: int) -> None:
    assert len(text.splitlines()) <= lines, text
    assert max((len(line) for line in text.splitlines()), default=0) <= LONGEST_LINE, text


TALK = (
    (0, "4 lb coho fillets, 1 inch, skin on, 10 % brine, going in the brine now"),
    (1, "fridge 36 F"),
    (1, "can it stay till 8"),
    (1, "what's next"),
    (1, "when do I have to get up"),
    (800, "pulled from the brine"),
    (10, "on the racks"),
    (1, "60 F and 60 % humidity"),
    (100, "damp"),
    (60, "tacky"),
    (5, "in the smoke"),
    (1, "chamber 190 F"),
    (80, "core 138 F"),
    (1, "is 135 enough"),
    (1, "why"),
    (60, "core 161 F"),
    (20, "core 163 F"),
    (12, "core 164 F"),
    (2, "they're out"),
    (80, "core 68 F"),
    (150, "core 39 F"),
    (20, "fridge 36 F"),
    (1, "can I pack?"),
    (1, "packed"),
    (1, "how long does it keep"),
)


def _told(lines=TALK) -> list[tuple[str, Message | None]]:
    talk = Talk()
    return [(text, talk.wait(minutes=minutes).say(text)) for minutes, text in lines]


@pytest.fixture(scope="module")
def whole() -> list[tuple[str, Message | None]]:
    """A whole batch, each message with its answer."""
    return _told()


def test_the_first_plan_fits_a_phone_and_carries_the_cautions(whole):
    first = whole[0][1].text

    short_enough(first, 25)
    assert "Local food codes and licensed practice come first" in first
    assert "Selling needs an approved process" in first
    assert "165 °F" in first


def test_no_later_answer_repeats_the_cautions_of_the_plan(whole):
    assert not [t for t, m in whole[1:] if m and "Selling needs" in m.text]


def test_every_other_answer_is_short(whole):
    for text, answer in whole[1:]:
        assert answer is not None, text
        if text != "why":  # sources are named in full
            short_enough(answer.text, 8)


def test_all_facts_are_as_the_contract_has_them(whole):
    for _, answer in whole:
        for fact in answer.facts:
            check(fact)
            json.dumps(fact)


def test_what_was_told_is_logged(whole):
    """Readings and events carry the number of the entry that keeps them."""
    for text, answer in whole:
        if text.split()[0] in ("fridge", "core", "chamber", "pulled", "on", "damp", "tacky", "in", "packed"):
            assert any(f["kind"] == "logged" for f in answer.facts), text


def test_the_call_stands_first(whole):
    firsts = {text: answer.text.splitlines()[0] for text, answer in whole}

    assert firsts["core 138 F"].startswith("Not yet")
    assert firsts["core 164 F"].startswith("Done, take it out")
    assert firsts["core 39 F"].startswith("Cold in time")
    assert firsts["can I pack?"].startswith("Go")


def test_reminders_are_said_with_facts_and_buttons():
    talk = Talk()
    talk.say(TALK[0][1])
    for _ in range(6):
        answer = talk.ring()
        if answer is None:
            continue
        short_enough(answer.text, 6)
        assert answer.buttons
        assert any(f["kind"] == "reminder" for f in answer.facts)
        for fact in answer.facts:
            check(fact)


def test_judging_takes_any_reading_the_contract_names():
    """Each kind of reading gets a verdict that can be said, wherever the batch stands."""
    values = {
        "core_c": 20.0, "chamber_c": 88.0, "air_c": 12.0, "rh_pct": 70.0, "fridge_c": 3.0, "mass_g": 1500.0,
        "salometer_deg": 40.0, "surface": "dry", "firmness": "springy", "wps_pct": 3.0,
    }  # fmt: skip
    for case in ("damp skin", "a core on its way up waits", "cold in both steps"):
        for key, value in values.items():
            journal = CASES[case][0]().after(minutes=5).read(**{key: value})
            plan, pen = journal.plan(), replace(PENS[0], now=journal.now)
            verdict = judge(plan, plan.batch.readings[-1])
            assert verdict.about == key
            check(facts.verdict(verdict, pen))
            short_enough(verdict_words(verdict, plan, pen), 9)
