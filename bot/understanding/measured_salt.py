"""Read a measured water-phase salt: a laboratory's or a test strip's figure. Only that opens airless packing."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.model import Doubt
from bot.understanding.plausible import possible
from bot.understanding.reading import Reading
from bot.understanding.tense import negated
from bot.understanding.wordlists import words

_MEASURED = words("wps", "measured")
_HOPED = words("wps", "hoped")


def read_measured_salt(sheet: Sheet, span: tuple[int, int]) -> list[Reading]:
    """Return the water-phase salt that a sentence gives as measured; where nobody says how it came, it is asked."""
    said = [w for text in sheet.words(*span) for w in text.split()]
    if not _names_it(said) or negated(said) or set(said) & _HOPED:
        return []
    figures = [i for i in range(*span) if (a := sheet.amount(i)) and a.kind in {"percent", "bare"} and a.value < 30]
    if len(figures) != 1:
        return []
    value = sheet.items[figures[0]].quantity.low  # type: ignore[union-attr]
    sheet.take(figures[0], figures[0], "reading: water-phase salt", f"{value:g} %")
    for i in range(*span):
        sheet.taken[i] = sheet.taken[i] or sheet.text(i) in {"strip", "strips"}
    if not possible("wps_pct", value):
        return [Reading({}, figures[0], "wps_pct", Doubt("wps_pct", (), "implausible"))]
    if set(said) & _MEASURED:
        return [Reading({"wps_pct": value}, figures[0], "wps_pct")]
    option = (f"measured {value:g} %", {"wps_pct": value})
    return [Reading({}, figures[0], "wps_pct", Doubt("wps_pct", (option,), "measured or reckoned"))]


def _names_it(said: list[str]) -> bool:
    text = f" {' '.join(said)} "
    return any(f" {name} " in text for name in words("wps", "names"))
