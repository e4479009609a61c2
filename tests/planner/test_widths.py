"""How wide a piece is: it must hold its own weight."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.ranges import OutOfRange
from planner.sources import rules
from planner.widths import likely_width_mm


@given(st.sampled_from(["fillet", "side", "steak", "strip"]), st.floats(50.0, 2000.0), st.floats(8.0, 50.0))
def test_length_width_and_thickness_hold_the_weight(form: str, mass_g: float, thick: float) -> None:
    """Width x length x mean thickness x 1.05 g/ml is the piece."""
    data = rules("widths")
    width = likely_width_mm(form, mass_g, thick)
    volume_ml = width**2 * data["length_over_width"][form] * thick * data["mean_over_thickest"]["value"] / 1000.0
    assert volume_ml * 1.05 == pytest.approx(mass_g)


def test_a_portion_of_salmon_is_two_to_three_fingers_wide() -> None:
    """A 170 g portion an inch thick is sold 5 to 7 cm wide: common practice."""
    assert 50.0 < likely_width_mm("fillet", 170.0, 25.4) < 70.0


def test_an_unknown_form_counts_as_a_fillet_and_nonsense_is_refused() -> None:
    assert likely_width_mm("heap", 200.0, 20.0) == likely_width_mm("fillet", 200.0, 20.0)
    with pytest.raises(OutOfRange, match="piece_mass_g"):
        likely_width_mm("fillet", -3.0, 20.0)
