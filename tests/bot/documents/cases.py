"""An invented batch to write documents of: none of its figures is a check of anything."""

from __future__ import annotations

from datetime import date, timedelta

from bot.documents.records import BatchRecord, Gate, Ingredient, Label, Override, PlanEvent, RecordImage
from bot.pictures.card import card_png
from bot.pictures.cook import cook_png
from planner.entries import Entry, Kind
from tests.bot.pictures import cases as pictures
from tests.bot.pictures.cases import METRIC, US, h

LONG_WORDS = "we took the belly out and " * 300
ONE_WORD = "x" * 5000
SCRIPTS = "鮭 🐟 سلمون Владивосток Θεσσαλονίκη Þingvellir"
MARKUP = "<b>not bold</b> & <para> $x_1$ %s {0}"


def entry(number: int, kind: Kind, happened: float, words: str = "", **data: object) -> Entry:
    """An entry told two minutes after it happened."""
    return Entry(number, kind, h(happened), h(happened) + timedelta(minutes=2), "Kari", data, words)


ENTRIES = (
    entry(1, Kind.DESCRIBE, 0, "4 lb coho belly, 1 in thick, skin on", species="coho_salmon", mass_g=1814.0, skin="on"),
    entry(2, Kind.PLAN, 0.1, "", stages=[{"stage": "soak", "start": "2026-09-12T01:00:00+00:00"}], yield_pct=70),
    entry(3, Kind.EVENT, 0.5, "in the brine", stage="soak", started=True, soak_start="2026-09-12T01:00:00+00:00"),
    entry(4, Kind.READING, 16, "core 300", core_c=148.9),
    Entry(5, Kind.VOID, h(16), h(16.1), "Kari", {}, "no, 130", voids=4),
    entry(6, Kind.READING, 16, "core 130", core_c=54.4, lot="small"),
    entry(
        7,
        Kind.VERDICT,
        16,
        "Not yet: core 130 °F.",
        about="core_c",
        call="wait",
        next_look="2026-09-12T18:00:00+00:00",
        reasons=[
            {"rule": "hot_floor", "says": "62.8 °C / 145 °F for 30 minutes", "source": "an invented source, table 2"},
            {"rule": "chamber_band", "says": "", "source": "common practice, no source"},
        ],
    ),
    entry(8, Kind.RING, 17, "", what="core", due="2026-09-12T17:30:00+00:00"),
    entry(9, Kind.ANSWERED, 17.1, "got it"),
    entry(10, Kind.CHOICE, 18, "I take it out now", what="pulled"),
    entry(11, Kind.MESSAGE, 19, "=HYPERLINK(1) thanks"),
)

GATES = (
    Gate("hot long enough", True, "core at or above 145 °F from 19:10 to 19:44", "an invented source, table 2", (6, 7)),
    Gate("cooled in time", False, "no reading at or below 70 °F within 2 h", "an invented source, 3-501"),
)
RECORD = BatchRecord(
    batch="12",
    name="Coho belly",
    species="coho salmon",
    habit=US,
    printed_at=h(40),
    entries=ENTRIES,
    summary=(("raw weight", "4 lb"), ("finished", "2 lb 14 oz, 71 % of the raw weight"), ("keep by", "Sep 26, 2026")),
    gates=GATES,
    overrides=(Override("Taken out of the smoke before the hold was over.", 10),),
    pictures=(
        RecordImage(cook_png(pictures.COOKS["three_lots_us"]), "the cook"),
        RecordImage(card_png(pictures.CARDS["us"]), "the card"),
    ),
    photos=(RecordImage(pictures.photo(), "into the brine", 3), RecordImage(b"%PDF-1.7", "out of the smoke", 10)),
)
HARD = BatchRecord(
    batch=MARKUP,
    name=SCRIPTS,
    species=MARKUP,
    habit=METRIC,
    printed_at=h(40),
    entries=(
        entry(1, Kind.MESSAGE, 0, LONG_WORDS),
        entry(2, Kind.MESSAGE, 1, ONE_WORD, note=ONE_WORD),
        entry(3, Kind.MESSAGE, 2, MARKUP, note=MARKUP, reasons="not a list"),
        entry(4, Kind.MESSAGE, 3, SCRIPTS, reasons=[1, None, {}]),
    ),
    summary=((MARKUP, LONG_WORDS),),
    gates=(Gate(LONG_WORDS[:900], False, LONG_WORDS, MARKUP),),
    overrides=(Override(LONG_WORDS, 1),),
)
BARE = BatchRecord("1", "Trout", "", METRIC, h(0))

LABEL = Label(
    habit=US,
    batch="12",
    title="Hot-smoked coho belly",
    species="coho salmon",
    ingredients=(
        Ingredient("coho salmon", ("fish",)),
        Ingredient("salt"),
        Ingredient("brown sugar"),
        Ingredient("soy sauce", ("soy", "wheat")),
        Ingredient("alder smoke"),
    ),
    made_on=date(2026, 9, 12),
    keep_by=date(2026, 9, 26),
    keep_how="At 38 °F (3.3 °C) or colder. Once frozen, thaw it opened, in the fridge.",
)

EVENTS = (
    PlanEvent("soak", "Soak: coho belly", h(0.5), h(12.5), "In the fridge, 38 °F or colder", ()),
    PlanEvent("smoke/small", "Smoke: small", h(16), h(19.5), "Core 160 °F for 30 min\r\nRead every 20 min", (15, 0)),
    PlanEvent("ring/core", "Read the cores", h(17.25), h(17.25), "", (0,)),
)
