"""A chat that learns: the second batch's plan, what is known, forgotten, tasted, made again and compared."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from planner.entries import Kind
from planner.habits import Habits
from planner.rig.finished import lesson_in
from tests.bot.talk import Talk

FIRST = (
    (0, "4 lb coho fillets, skin on, 1 inch, in the brine now"),
    (790, "out of the brine, on the racks, fan on"),
    (150, "skin damp"),
    (40, "tacky"),
    (5, "in the smoke, chamber 190"),
    (60, "core 118 chamber 192"),
    (45, "core 140 chamber 190"),
    (35, "core 153"),
    (30, "core 162"),
    (30, "core 166"),
    (2, "they're out"),
    (63, "core 67, back in the fridge"),
    (170, "core 39"),
    (5, "fridge 36"),
    (720, "packed"),
)
NEXT = "4 lb coho fillets, skin on, 1 inch, brining tonight"


def batch(talk: Talk, *changed: tuple[str, str]) -> Talk:
    """Say a whole batch, with some of its words said otherwise."""
    words = dict(changed)
    for minutes, text in FIRST:
        talk.wait(minutes=minutes).say(words.get(text, text))
    return talk


@pytest.fixture(scope="module")
def once() -> Talk:
    return batch(Talk())


def fork(talk: Talk) -> Talk:
    """The same chat from here on, apart."""
    other = Talk(now=talk.now)
    other.chat, other.batches, other.rings, other.said = talk.chat, dict(talk.batches), dict(talk.rings), talk.said[:]
    return other


def plan_of(talk: Talk, text: str = NEXT) -> tuple[str, dict]:
    message = talk.say(text)
    assert message is not None
    return message.text, next(f for f in message.facts if f["kind"] == "plan")


def spread_h(plan: dict, stage: str) -> float:
    row = next(row for row in plan["stages"] if row["stage"] == stage)
    late, early = (datetime.fromisoformat(row[key]) for key in ("latest", "earliest"))
    return (late - early).total_seconds() / 3600.0


def test_the_second_plan_is_narrower_and_says_why(once: Talk) -> None:
    _, first = plan_of(Talk(now=once.now).wait(days=5))
    text, second = plan_of(fork(once).wait(days=5))
    for stage in ("dry", "smoke"):
        assert spread_h(second, stage) < 0.9 * spread_h(first, stage)
    assert "Drying and smoking times from your last batch." in text
    assert second["learned"] == {"rig": None, "drying": 1, "smoking": 1}
    assert second["assumed"] == first["assumed"]


def test_it_tells_what_it_knows(once: Talk) -> None:
    talk = fork(once)
    message = talk.say("what do you know about my smoker?")
    values = message.facts[0]["values"]
    assert message.text.startswith("Learned from one batch")
    assert values["batches"] == values["drying"]["batches"] == values["transfer"]["batches"] == 1
    # 36 °F was read once: between that and the usual 3 °C.
    assert 2.2 < values["fridge_c"]["value"] < 3.0


def test_nothing_is_known_before_anything_is_packed() -> None:
    assert Talk().say("what do you know about my smoker").text.startswith("Nothing yet")
    assert Talk().say("forget that batch").text.startswith("Nothing yet")
    assert "no finished batch" in Talk().say("4 lb coho like last time").text


def test_a_forgotten_batch_leaves_the_plan_as_if_it_had_not_been(once: Talk) -> None:
    talk = fork(once)
    before = len(talk.batches[1].entries)
    assert talk.say("forget that batch").text.startswith("Taken out: coho of")
    added = [e for e in talk.batches[1].entries[before:] if e.kind is not Kind.MESSAGE]
    assert [e.kind for e in added] == [Kind.VOID]
    assert talk.say("what do you know about my smoker").text.startswith("Nothing yet")
    text, plan = plan_of(talk.wait(days=5))
    _, fresh = plan_of(Talk(now=talk.now))
    assert "your last" not in text
    assert plan["stages"] == fresh["stages"]


def test_a_forgotten_batch_stays_forgotten(once: Talk) -> None:
    talk = fork(once)
    talk.say("forget that batch")
    talk.wait(hours=1).say("fridge 37")
    assert talk.say("what do you know about my smoker").text.startswith("Nothing yet")


def test_an_old_batch_can_be_forgotten_without_its_journal(once: Talk) -> None:
    """The snapshot leaves out batches closed long ago; their lessons are there, and so is their length."""
    talk = fork(once)
    whole = talk.snapshot
    talk.snapshot = lambda: replace(whole(), batches=())  # type: ignore[method-assign]
    length = len(talk.batches[1].entries)
    assert talk.say("forget the last batch").text.startswith("Taken out")
    void = talk.batches[1].entries[length]
    assert void.kind is Kind.VOID
    assert void.voids == lesson_in(talk.batches[1].entries[:length]).number
    assert 1 not in talk.outcome.rings


def test_a_correction_after_packing_teaches_anew(once: Talk) -> None:
    talk = fork(once)
    before = lesson_in(talk.batches[1].entries)
    talk.say("it was 38 in the fridge, not 36")
    talk.say("no, fridge 38")
    after = lesson_in(talk.batches[1].entries)
    assert after.number > before.number
    assert after.data["taught"]["fridge"] != before.data["taught"]["fridge"]
    assert after.data["taught"]["drying"] == before.data["taught"]["drying"]


def test_unpacking_takes_the_lesson_back(once: Talk) -> None:
    talk = fork(once)
    talk.say("undo")
    assert lesson_in(talk.batches[1].entries) is None
    talk.wait(minutes=5).say("packed")
    assert lesson_in(talk.batches[1].entries) is not None


def test_a_rig_s_name_keeps_its_lessons_apart() -> None:
    talk = batch(Talk(), (FIRST[0][1], "4 lb coho fillets, skin on, 1 inch, in the drum, in the brine now"))
    talk.wait(days=5)
    text, _ = plan_of(fork(talk))
    assert "from your last batch in the drum." in text
    text, _ = plan_of(fork(talk), "4 lb coho fillets, skin on, 1 inch, using the kettle, brining tonight")
    assert "your last batch" not in text


def test_which_smoker_it_is_in_can_be_said_later(once: Talk) -> None:
    talk = fork(once)
    talk.wait(days=5).say(NEXT)
    assert talk.say("my smoker is called bertha").text.startswith("This batch is in Bertha.")
    assert talk.say("what do you know about my smoker").text.startswith("Learned from one batch in Bertha")


# --- taste ------------------------------------------------------------------------------------------------------------


def test_it_asks_once_how_it_was_and_not_at_night(once: Talk) -> None:
    talk = fork(once)
    asked = []
    for _ in range(4):
        message = talk.ring()
        if message is None:
            break
        asked += [(message, talk.now)] if message.text.startswith("How was") else []
    ((message, at),) = asked
    assert [b.label for b in message.buttons] == ["Too salty", "A bit dry", "Just right", "Not salty enough"]
    assert not Habits(talk.zone).is_quiet(at)
    assert not message.urgent


def asked(once: Talk) -> Talk:
    talk = fork(once)
    while not talk.ring().text.startswith("How was"):
        pass
    return talk


@pytest.mark.parametrize(
    ("how", "word"), [("press", "Too salty"), ("say", "too salty"), ("say", "it was way too salty")]
)
def test_too_salty_means_less_salt_and_says_so(once: Talk, how: str, word: str) -> None:
    talk = asked(once)
    message = getattr(talk, how)(word)
    assert message.text.startswith("Noted: too salty.")
    _, before = plan_of(Talk(now=talk.now).wait(days=3))
    text, after = plan_of(talk.wait(days=3))
    assert "A bit less salt than last time (2.5 % for 3.0 %): you said too salty." in text
    assert after["wps_pct"]["mean"] < before["wps_pct"]["mean"] - 0.3
    assert after["brine"]["salt_g"] < before["brine"]["salt_g"]


def test_a_bit_dry_means_a_cooler_chamber(once: Talk) -> None:
    talk = asked(once)
    talk.press("A bit dry")
    text, _ = plan_of(talk.wait(days=3))
    assert "Chamber 5 °F lower than last time: you said a bit dry." in text


def test_just_right_changes_nothing(once: Talk) -> None:
    talk = asked(once)
    assert talk.press("Just right").text.startswith("Noted: just right.\nNext time the same")
    text, _ = plan_of(talk.wait(days=3))
    assert "you said" not in text


def test_once_said_it_is_not_asked(once: Talk) -> None:
    talk = fork(once)
    talk.wait(hours=5).say("it was too salty")
    assert all(ring.what != "taste" for ring in talk.rings[1])


def test_an_airless_pack_keeps_its_salt_and_says_so(once: Talk) -> None:
    talk = asked(once)
    talk.press("Too salty")
    text, _ = plan_of(talk.wait(days=3), f"{NEXT}, vacuum pack")
    assert "Salt not under 3.5 %: an airless pack needs it" in text


# --- made again, compared ---------------------------------------------------------------------------------------------


def test_like_the_last_one_starts_from_it(once: Talk) -> None:
    text, plan = plan_of(fork(once).wait(days=5), "5 lb, like the last one, a little less salt")
    assert "Like coho of Sun 13 Sep, with 2.7 % salt for 3.0 %." in text
    assert "species" not in plan["assumed"]
    assert "thickness_mm" not in plan["assumed"]
    assert plan["batch"] == 2


def test_the_one_in_september_is_found_by_its_month(once: Talk) -> None:
    talk = fork(once).wait(days=60)
    assert "Like coho of Sun 13 Sep" in talk.say("5 lb like the one in September").text
    assert "no finished batch like that" in fork(once).say("5 lb like the one in May").text


def test_it_tells_how_this_one_differed(once: Talk) -> None:
    talk = fork(once).wait(days=5)
    cooler = {"in the smoke, chamber 190": "178", "core 118 chamber 192": "180", "core 140 chamber 190": "178"}
    batch(talk, *((text, text[:-3] + chamber) for text, chamber in cooler.items()))
    message = talk.say("how did this differ from last time")
    told = {d["what"]: d for d in message.facts[0]["values"]["differences"]}
    assert len(told) <= 3
    # The means of 178, 180, 178 °F and of 190, 192, 190 °F.
    assert told["chamber_c"]["now"] == pytest.approx((178 + 2 / 3 - 32) / 1.8, abs=0.01)
    assert told["chamber_c"]["then"] == pytest.approx((190 + 2 / 3 - 32) / 1.8, abs=0.01)
    assert "Chamber 179 °F, then 191 °F." in message.text
    assert message.text.splitlines()[0].endswith("from coho of Sun 13 Sep:")
