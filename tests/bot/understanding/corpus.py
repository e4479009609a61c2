"""The corpus: messages by meaning, at fixed moments, with what must be heard.

An entry's ``heard`` lists what each message means, as ``intent[:topic] slot=value …``. Values are written as people
say them (``128F``, ``4.5lb``, ``09-11T21:40``) and brought to SI here by the definitions of the units (international
yard and pound agreement, 1959: 1 in = 25.4 mm, 1 lb = 453.59237 g; US gallon = 231 cubic inches), not by the code
under test.
"""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bot.understanding import Context, Heard, Rung

_HERE = Path(__file__).parent / "corpus"
_INCH_MM = 25.4
_POUND_G = 453.59237
_GALLON_ML = 231 * 2.54**3
_UNITS = {
    "lb": _POUND_G, "oz": _POUND_G / 16, "kg": 1000.0, "g": 1.0, "in": _INCH_MM, "cm": 10.0, "mm": 1.0,
    "gal": _GALLON_ML, "qt": _GALLON_ML / 4, "pt": _GALLON_ML / 8, "cup": _GALLON_ML / 16, "tbsp": _GALLON_ML / 256,
    "ml": 1.0, "l": 1000.0, "h": 1.0, "min": 1 / 60, "cup/gal": 62.5, "cup/qt": 250.0, "cup/l": _GALLON_ML / 16,
    "lb/gal": _POUND_G / _GALLON_ML * 1000, "g/l": 1.0, "ml/l": 1.0, "mph": 0.44704, "kmh": 1 / 3.6, "kn": 1852 / 3600,
    "tbsp/cup": 62.5, "dl/l": 100.0, "oz/gal": _POUND_G / 16 / _GALLON_ML * 1000, "cup/pt": 500.0, "tbsp/qt": 15.625,
    "tbsp/l": _GALLON_ML / 256, "oz/qt": _POUND_G / 16 / _GALLON_ML * 4000, "lb/qt": _POUND_G / _GALLON_ML * 4000,
    "impgal": 4546.09, "impqt": 1136.5225, "imppt": 568.26125, "dl": 100.0, "m/s": 1.0,
    "cup/impgal": _GALLON_ML / 16 / 4.54609,
    "lb/impgal": _POUND_G / 4.54609, "g/impgal": 1 / 4.54609,
}  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One message: its context's name, the words, what must be heard and which slots must be in doubt."""

    file: str
    context: str
    said: str
    heard: tuple[str, ...]
    doubts: tuple[str, ...]


@cache
def contexts() -> dict[str, Context]:
    """Return the named contexts."""
    data = tomllib.loads((_HERE / "contexts.toml").read_text(encoding="utf-8"))
    return {name: _context(raw, data) for name, raw in data.items()}


def _context(raw: dict[str, Any], every: dict[str, Any]) -> Context:
    if "like" in raw:
        raw = {**every[raw["like"]], **raw}
        raw.pop("like")
    zone = ZoneInfo(raw.get("zone", "America/Vancouver"))
    given = dict(raw, zone=zone.key)
    for key in ("now", "stage_since", "batch_since"):
        if key in given:
            given[key] = datetime.fromisoformat(given[key]).replace(tzinfo=zone)
    if "scales" in given:
        given["temperature_scales"] = frozenset(given.pop("scales"))
    for key in ("lots", "batches"):
        if key in given:
            given[key] = tuple(given[key])
    if "rung" in given:
        given["rung"] = Rung(**given["rung"])
    if "last" in given:
        given["last"] = heard_of(given["last"], zone)
    if "asked_options" in given:
        given["asked_options"] = tuple((o[0], heard_of("describe " + o[1], zone).slots) for o in given["asked_options"])
    return Context(**given)


def cases(*names: str) -> list[Case]:
    """Return the cases of the named files, or of all."""
    paths = [_HERE / f"{n}.toml" for n in names] or [p for p in sorted(_HERE.glob("*.toml")) if p.stem != "contexts"]
    return [case for path in paths for case in _cases_of(path)]


def _cases_of(path: Path) -> list[Case]:
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    return [
        Case(
            path.stem, entry["context"], said.replace("⏎", "\n"), tuple(entry["heard"]), tuple(entry.get("doubts", ()))
        )
        for entry in data["meaning"]
        for said in entry["said"].strip().splitlines()
    ]


def heard_of(line: str, zone: ZoneInfo) -> Heard:
    """Return what an expectation line means."""
    head, *pairs = re.findall(r"(?:[^\s\"{\[]|\"[^\"]*\"|\[.*?\](?=\s|$))+", line)
    intent, _, topic = head.partition(":")
    slots = {key: _value(key, text, zone) for key, _, text in (pair.partition("=") for pair in pairs)}
    return Heard(intent, slots, topic=topic or None)


def _value(key: str, text: str, zone: ZoneInfo) -> Any:
    if text in {"true", "false"}:
        return text == "true"
    if text.startswith("["):
        return [
            {k: _value(k, v, zone) for k, v in lot.items()} if isinstance(lot, dict) else lot
            for lot in json.loads(text)
        ]
    if re.fullmatch(r"\d\d-\d\dT\d\d:\d\d(?::\d\d)?", text):
        return datetime.fromisoformat(f"2026-{text}").replace(tzinfo=zone).isoformat(timespec="seconds")
    if re.fullmatch(r"\d{4}-\d\d-\d\dT.*", text):
        return text
    return _number(key, text)


def _number(key: str, text: str) -> Any:
    found = re.fullmatch(r"(-?\d+(?:\.\d+)?(?:/\d+)?)([A-Za-z/]*)", text)
    if found is None:
        return text
    number, unit = float(Fraction(found[1])) if "." not in found[1] else float(found[1]), found[2]
    if key.endswith("_c") and unit in {"F", "C"}:
        return round((number - 32) / 1.8 if unit == "F" else number, 3)
    if unit and unit not in _UNITS:
        return text
    return round(number * _UNITS.get(unit, 1.0), 3)
