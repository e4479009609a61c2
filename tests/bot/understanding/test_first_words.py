"""The messages that the project's own design is written around."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from bot.understanding import Context, understand

NOW = datetime(2026, 9, 11, 17, 40, tzinfo=ZoneInfo("America/Vancouver"))


def test_a_batch_in_eight_words() -> None:
    context = Context(NOW, "America/Vancouver")
    heard = understand("4 1/2 lb coho fillets, skin on, about an inch", context).heard[0]
    assert heard.intent == "describe"
    assert heard.slots == {
        "species": "coho_salmon",
        "form": "fillet",
        "skin": "on",
        "mass_g": 2041.166,
        "thickness_mm": 25.4,
    }


def test_core_62_is_asked_in_a_chat_of_both_scales() -> None:
    told = understand("core 62", Context(NOW, temperature_scales=frozenset("FC"), stage="smoke"))
    assert "core_c" not in told.heard[0].slots
    assert [label for label, _ in told.doubts[0].options] == ["62 °C", "62 °F"]
