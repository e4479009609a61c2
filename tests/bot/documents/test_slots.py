"""An entry's data in words."""

from __future__ import annotations

from typing import Any

import pytest

from bot.documents.slots import slot_words
from tests.bot.pictures.cases import METRIC, US


@pytest.mark.parametrize(
    ("key", "value", "us", "metric"),
    [
        ("core_c", 62.8, "core 145 °F / 62.8 °C", "core 62.8 °C / 145 °F"),
        ("mass_g", 453.6, "mass 1 lb (453.6 g)", "mass 453.6 g"),
        ("salt_g", 120, "salt 4 oz (120 g)", "salt 120 g"),
        ("salt_g_per_l", 120, "salt 120 g/l", "salt 120 g/l"),
        ("salt_ml_per_l", 125.0, "salt 125 ml/l", "salt 125 ml/l"),
        ("wind_m_s", 1.5, "wind 1.5 m/s", "wind 1.5 m/s"),
        ("rh_pct", 62, "rh 62 %", "rh 62 %"),
        ("salometer_deg", 80, "salometer 80°", "salometer 80°"),
        ("pieces", 6, "pieces 6", "pieces 6"),
        ("water_pan", True, "water pan yes", "water pan yes"),
        ("lot", None, "lot none", "lot none"),
        # 01:00 UTC is 18:00 the day before in Vancouver (PDT) and 03:00 in Oslo (CEST).
        ("soak_start", "2026-09-12T01:00:00+00:00", "soak start Fri Sep 11 6:00 pm", "soak start Sat 12 Sep 03:00"),
        ("note", "2026-13-99T99:99", "note 2026-13-99T99:99", "note 2026-13-99T99:99"),
        ("lots", [{"pieces": 2, "thickness_mm": 30}, {"pieces": 4}],
         "lots: pieces 2, thickness 30 mm; pieces 4", "lots: pieces 2, thickness 30 mm; pieces 4"),
    ],
)  # fmt: skip
def test_each_unit_is_written_out(key: str, value: Any, us: str, metric: str) -> None:
    assert slot_words({key: value}, US) == [us]
    assert slot_words({key: value}, METRIC) == [metric]


def test_reasons_have_a_place_of_their_own() -> None:
    assert slot_words({"call": "wait", "reasons": [{"rule": "x"}]}, US) == ["call wait"]
