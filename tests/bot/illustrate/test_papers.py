"""Labels and records: what was not proven is said, what was lost gets no label."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from bot.documents.labels import label_png
from bot.documents.table import read_record_csv, read_record_json
from bot.illustrate.batches import Case, case_of
from bot.illustrate.calendar import calendar_file, plan_events
from bot.illustrate.labels import label_of, label_sheet
from bot.illustrate.making import NotToBeMade, make_file, refused
from bot.illustrate.record import batch_record, record_document
from bot.illustrate.references import PAPERS, PICTURES, Reference
from bot.say import papers
from planner.entries import Entry, Kind
from scheduler.turn import Outcome
from tests.bot.documents import strict_ics
from tests.bot.illustrate.story import LOST, TWO_LOTS, UNPROVEN, WHOLE, told
from tests.bot.talk import Talk

NOWHERE = Path("/nowhere")


def entry_of(case: Case, value: float, key: str = "core_c") -> int:
    """The number of the reading with this value."""
    (found,) = (e.number for e in case.file.entries if e.kind is Kind.READING and e.data.get(key) == value)
    return found


def with_entry(case: Case, kind: Kind, data: dict[str, object], words: str = "") -> Case:
    """The case with one more entry."""
    entry = Entry(len(case.file.entries) + 1, kind, case.now, case.now, "ida", data, words)
    return Case(replace(case.file, entries=(*case.file.entries, entry)), case.chat, case.now)


def test_the_label_of_a_proven_batch() -> None:
    label = label_of(told(WHOLE).cases["packed"])
    assert label.title == "Hot-smoked rainbow trout"
    assert [(i.name, i.allergens) for i in label.ingredients] == [
        ("Rainbow trout", ("fish",)), ("salt", ()), ("alder smoke", ()),
    ]  # fmt: skip
    assert label.cautions == ()
    # home guidance: two weeks at most (PNW 450)
    assert label.keep_by is not None
    assert timedelta(0) < label.keep_by - label.made_on <= timedelta(days=14)
    assert "3.3" in label.keep_how


def test_what_is_not_proven_stands_on_the_label_and_gives_no_date() -> None:
    label = label_of(told(UNPROVEN).cases["packed"])
    assert "Not proven hot enough on record" in label.cautions
    assert "Not proven cooled in time on record" in label.cautions
    assert "Not proven cold on record" in label.cautions
    assert sum(c.startswith("Went on against the advice") for c in label.cautions) == 2
    assert label.keep_by is None
    assert label.keep_how == "Keep at 3.3\u00a0°C\u00a0/\u00a038\u00a0°F or colder."


def test_a_lot_that_is_not_proven_is_named() -> None:
    case = told(TWO_LOTS).cases["small out"]
    assert "Not proven hot enough on record (the large ones)" in label_of(case).cautions
    assert not any("hot enough" in c for c in label_of(case, "small").cautions)
    assert label_of(case, "small").title == "Hot-smoked sockeye, small ones"


def test_a_mark_below_the_guidance_stands_on_the_label() -> None:
    case = with_entry(told(WHOLE).cases["packed"], Kind.CHOICE, {"work_to_c": 62.8})
    (caution,) = label_of(case).cautions
    assert "62.8 °C / 145 °F" in caution
    assert "71.1 °C / 160 °F" in caution


def test_an_airless_pack_that_was_not_measured_has_no_date() -> None:
    label = label_of(with_entry(told(WHOLE).cases["packed"], Kind.DESCRIBE, {"pack": "airless"}))
    assert label.keep_by is None
    assert "Keep frozen" in label.keep_how
    assert any("airless" in c for c in label.cautions)


@pytest.mark.parametrize("what", ["label", "labels"])
def test_a_lost_batch_gets_no_label(what: str) -> None:
    with pytest.raises(NotToBeMade, match="Do not eat or pack it"):
        make_file(Reference(what, 1, 12), told(LOST).cases["too slow"], NOWHERE)


def test_labels_come_after_the_smoke() -> None:
    with pytest.raises(NotToBeMade, match="No label before"):
        make_file(Reference("labels", 1, 12), told(WHOLE).cases["soaking"], NOWHERE)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_cautions_take_a_larger_sheet_rather_than_be_cut(units: str) -> None:
    case = told(UNPROVEN, units).cases["packed"]
    assert label_sheet(case, 12).notes == ()
    assert label_png(label_of(case)).notes == ()


def test_the_record_says_which_readings_opened_a_gate() -> None:
    case = told(WHOLE).cases["packed"]
    gates = {gate.name: gate for gate in batch_record(case, NOWHERE).gates}
    assert all(gate.opened for gate in gates.values())
    assert gates["Hot enough"].entries == (entry_of(case, 72.0), entry_of(case, 74.0))
    assert gates["Cooled in time"].entries == tuple(entry_of(case, c) for c in (74.0, 24.0, 19.0, 4.0))
    fridge = [e.number for e in case.file.entries if "fridge_c" in e.data and e.kind is Kind.READING]
    assert gates["Cold"].entries == (fridge[-1],)
    assert set(gates["Time in the warm"].entries) == {
        fridge[0], *(e.number for e in case.file.entries if e.kind is Kind.READING and "air_c" in e.data),
    }  # fmt: skip


def test_the_record_shows_what_the_tool_said_with_its_rules() -> None:
    case = told(WHOLE).cases["packed"]
    shown = [e for e in batch_record(case, NOWHERE).entries if e.kind is Kind.VERDICT]
    assert all(e.words for e in shown)
    reasons = [reason for e in shown for reason in e.data.get("reasons", ())]
    assert {"aim_held", "cooling_done", "skin_tacky"} <= {reason["rule"] for reason in reasons}
    assert all(reason["source"] for reason in reasons)


def test_the_record_of_an_unproven_batch_names_the_override() -> None:
    record = batch_record(told(UNPROVEN).cases["packed"], NOWHERE)
    assert len(record.overrides) == 2
    assert not any(g.opened for g in record.gates if g.name != "Time in the warm")
    assert any(name == "Caution" and "Not proven hot enough" in value for name, value in record.summary)


def test_the_record_has_pictures_and_photos(tmp_path: Path) -> None:
    Image.new("RGB", (80, 60), "pink").save(tmp_path / "fish.jpg")
    case = with_entry(told(WHOLE).cases["packed"], Kind.MESSAGE, {"photo": "fish.jpg"}, "before the smoke")
    case = with_entry(case, Kind.MESSAGE, {"photo": "gone.jpg"})
    record = batch_record(case, tmp_path)
    assert [p.caption for p in record.pictures] == [
        "Salt across the thickest piece and over the soak, as reckoned", "The drying", "The smoke", "The cooling",
    ]  # fmt: skip
    (photo,) = record.photos
    assert (photo.caption, photo.entry) == ("before the smoke", len(case.file.entries) - 1)
    assert record_document(case, tmp_path).startswith(b"%PDF-")


def test_tables_come_back_as_they_were() -> None:
    case = told(WHOLE).cases["packed"]
    for what, read in (("table", read_record_csv), ("journal", read_record_json)):
        assert read(make_file(Reference(what, 1), case, NOWHERE).data) == list(case.file.entries)


def test_the_calendar_is_read_by_a_strict_reader_and_moves_the_same_events() -> None:
    looked = told(WHOLE)
    first, later = (strict_ics.read(calendar_file(looked.cases[n])) for n in ("planned", "racked"))
    uids = [{event.value("UID"): event for event in calendar.parts} for calendar in (first, later)]
    both = uids[0].keys() & uids[1].keys()
    assert {"Rainbow trout: smoke", "Rainbow trout: cool"} <= {uids[0][uid].value("SUMMARY") for uid in both}
    assert all(int(uids[1][uid].value("SEQUENCE")) > int(uids[0][uid].value("SEQUENCE")) for uid in both)


def test_a_rest_that_the_plan_has_no_more_is_withdrawn() -> None:
    calendar = strict_ics.read(calendar_file(told(WHOLE).cases["planned"]))
    state = {event.value("SUMMARY"): event.value("STATUS") for event in calendar.parts}
    assert state["Rainbow trout: rest\\, cold"] == "CANCELLED"
    assert state["Rainbow trout: smoke"] == "CONFIRMED"


def checks(name: str, story: tuple[tuple[str, float, str], ...] = WHOLE) -> dict[str, strict_ics.Part]:
    """The looks of a calendar by their title, those that are withdrawn left out."""
    parts = strict_ics.read(calendar_file(told(story).cases[name])).parts
    looks = [part for part in parts if not part.has("DTEND") and part.value("STATUS") == "CONFIRMED"]
    return {part.value("SUMMARY").partition(": ")[2]: part for part in looks}


def test_the_next_look_is_in_the_calendar_with_an_alarm_and_moves_as_one_event() -> None:
    first, later = (checks(name)["read the core"] for name in ("smoking", "warm"))
    assert first.value("UID") == later.value("UID")
    assert later.value("DTSTART") > first.value("DTSTART")
    assert [alarm.value("TRIGGER") for alarm in later.parts] in (["PT0S"], ["P0D"])


def test_each_lot_has_its_own_look() -> None:
    titles = set(checks("warm", TWO_LOTS))
    assert {"read the core of the small ones", "read the core of the large ones"} <= titles


def test_a_look_that_is_done_with_is_withdrawn() -> None:
    parts = strict_ics.read(calendar_file(told(WHOLE).cases["cold"])).parts
    gone = {part.value("SUMMARY") for part in parts if part.value("STATUS") == "CANCELLED"}
    assert {"Rainbow trout: touch the skin", "Rainbow trout: read the core"} <= gone
    assert "read the core" not in checks("cold")
    assert not set(checks("planned")) & {"read the core", "touch the skin"}


def test_weeks_of_keeping_are_one_day_in_the_calendar() -> None:
    events = list(plan_events(told(WHOLE).cases["planned"]))
    assert all(event.end - event.start < timedelta(days=2) for event in events)


def test_every_gate_has_words() -> None:
    talk = Talk()
    talk.say("2 kg coho fillets, 1 inch, skin on, cold smoke at 20 C, vacuum pack")
    cold = case_of(1, talk.snapshot(), Outcome())
    assert cold is not None
    names = {gate.name for case in (cold, told(WHOLE).cases["packed"]) for gate in case.plan.gates}
    assert {"window", "parasites", "airless", "hot", "cooled", "cold", "exposure"} <= names
    assert names <= papers._GATE.keys() & papers._NOT_PROVEN.keys()


#: Talk of every kind, in any order.
ANYTHING = [
    "salmon",
    "4 lb coho, 1 inch",
    "dry salted",
    "cold smoke at 20 C",
    "vacuum pack",
    "in the brine",
    "out of the brine",
    "2 small ones 10 mm and 3 big ones 45 mm",
    "on the racks",
    "tacky",
    "weighs 3 lb",
    "in the smoke",
    "chamber 190 F",
    "core 128 F",
    "core 165 F",
    "small core 150 F",
    "they're out",
    "core 60 F",
    "core 35 F",
    "fridge 35 F",
    "packed",
    "going on anyway",
    "undo",
    "wps 3.8 %",
    "air 70 F 90 % humidity",
    "ready by sunday noon",
]


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(st.sampled_from(ANYTHING), st.sampled_from([1, 31, 300])), min_size=1, max_size=9), st.data())
def test_whatever_was_told_there_is_a_paper_or_a_line(said: list[tuple[str, int]], data: st.DataObject) -> None:
    talk = Talk()
    talk.say("fish, 2 lb")
    for words, minutes in said:
        talk.wait(minutes=minutes).say(words)
    case = case_of(1, talk.snapshot(), Outcome())
    if case is None:
        return
    what = data.draw(st.sampled_from([*PICTURES, *PAPERS]))
    if refused(what, case.plan, "fish", case.pen):
        with pytest.raises(NotToBeMade):
            make_file(Reference(what, 1, 3), case, NOWHERE)
    else:
        assert make_file(Reference(what, 1, 3), case, NOWHERE).data


def test_a_label_can_be_opened() -> None:
    made = make_file(Reference("label", 1), told(WHOLE).cases["packed"], NOWHERE)
    with Image.open(io.BytesIO(made.data)) as picture:
        picture.load()
        assert picture.format == "PNG"
