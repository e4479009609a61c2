"""The look can be read in grey, by colour-blind eyes, and against paper and night."""

from __future__ import annotations

from itertools import combinations

import pytest

from bot.pictures.look import COLD, INK, LIMIT, LOT_STYLES, NIGHT, PAPER, SOFT, WARM


def luminance(tone: str) -> float:
    """Relative luminance (WCAG 2.1, definition of "relative luminance")."""
    parts = [int(tone[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.1, definition of "contrast ratio")."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("ground", [PAPER, NIGHT])
@pytest.mark.parametrize("letters", [INK, SOFT, LIMIT])
def test_words_stand_out(letters: str, ground: str) -> None:
    assert contrast(letters, ground) >= 4.5  # WCAG 2.1, 1.4.3, level AA


@pytest.mark.parametrize("style", LOT_STYLES)
def test_curves_stand_out(style: object) -> None:
    assert contrast(style.tone, PAPER) >= 3  # WCAG 2.1, 1.4.11


def test_lots_differ_without_any_colour() -> None:
    for one, other in combinations(LOT_STYLES, 2):
        assert one.dash != other.dash
        assert one.marker != other.marker
        assert one.sign != other.sign


def test_the_first_three_lots_differ_in_lightness_too() -> None:
    # A ratio of 1.5 is a step of about 10 on the scale of CIE L*, five times what an eye can tell apart.
    for one, other in combinations(LOT_STYLES[:3], 2):
        assert contrast(one.tone, other.tone) >= 1.5


def test_cold_and_warm_stages_differ_in_lightness() -> None:
    assert contrast(COLD, WARM) >= 3
