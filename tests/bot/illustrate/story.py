"""Batches talked through from brine to bag, looked at on the way. All figures are invented."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from bot.illustrate.batches import Case, case_of
from scheduler.turn import Outcome
from tests.bot.talk import Talk

#: Words of the whole batch: a name to look at it by, hours waited before, what is said.
WHOLE: tuple[tuple[str, float, str], ...] = (
    ("planned", 0.0, "2.6 kg rainbow trout fillets, skin on, 22 mm, alder, 100 g salt per liter"),
    ("begun", 0.1, "in the brine, fridge 2 C"),
    ("soaking", 5.0, "what's next"),
    ("soaked", 7.0, "out of the brine"),
    ("racked", 0.3, "on the racks, fan on, 12 C, 60 % humidity"),
    ("weighed", 2.0, "weighs 2575 g"),
    ("damp", 0.1, "damp"),
    ("tacky", 1.0, "tacky"),
    ("smoking", 0.2, "in the smoke, chamber 88 C"),
    ("warm", 1.25, "core 55 C, chamber 90 C"),
    ("floor", 0.8, "core 66 C"),
    ("aim", 0.5, "core 72 C, chamber 91 C"),
    ("hot", 0.51, "core 74 C"),
    ("out", 0.05, "they're out"),
    ("cooling", 0.7, "core 24 C"),
    ("first leg", 0.5, "core 19 C"),
    ("cold", 2.7, "core 4 C"),
    ("finished", 0.1, "2130 g now"),
    ("chilled", 3.0, "fridge 2 C"),
    ("packed", 9.0, "packed"),
    ("noted", 0.1, "note: skin came off cleanly"),
)

#: The same fish in two sizes, the small ones taken out first.
TWO_LOTS: tuple[tuple[str, float, str], ...] = (
    ("planned", 0.0, "sockeye fillets, 2 small ones 15 mm 300 g each and 3 large ones 30 mm 700 g each, skin on"),
    ("begun", 0.1, "in the brine"),
    ("soaked", 12.0, "out of the brine"),
    ("racked", 0.3, "on the racks"),
    ("tacky", 3.0, "tacky"),
    ("smoking", 0.2, "in the smoke, chamber 90 C"),
    ("warm", 1.2, "small core 60 C, large core 41 C"),
    ("small done", 0.5, "small core 72 C"),
    ("small held", 0.51, "small core 74 C, large core 63 C"),
    ("small out", 0.05, "small ones are out"),
)

#: Never read in the smoke, packed all the same.
UNPROVEN: tuple[tuple[str, float, str], ...] = (
    ("planned", 0.0, "4 lb coho fillets, 1 inch, skin on"),
    ("begun", 0.1, "in the brine"),
    ("soaked", 11.0, "out of the brine"),
    ("smoking", 3.0, "in the smoke"),
    ("out", 3.0, "they're out"),
    ("out anyway", 0.0, "[Out anyway]"),
    ("refused", 12.0, "packed"),
    ("packed", 0.0, "[Pack anyway]"),
)

#: Hot enough, then left to cool too slowly.
LOST: tuple[tuple[str, float, str], ...] = (
    *WHOLE[:14],
    ("too slow", 2.2, "core 33 C"),
)


@dataclass
class Looked:
    """A talk with the batch as it was after each line."""

    talk: Talk
    cases: dict[str, Case] = field(default_factory=dict)


@cache
def told(lines: tuple[tuple[str, float, str], ...], units: str = "metric") -> Looked:
    """Talk it through, once in a test run."""
    talk = Talk(units=units)
    looked = Looked(talk)
    for name, hours, words in lines:
        talk.wait(hours=hours)
        if words.startswith("["):
            talk.press(words.strip("[]"))
        else:
            talk.say(words)
        case = case_of(1, talk.snapshot(), Outcome())
        assert case is not None, words
        looked.cases[name] = case
    return looked
