"""Limits printed in two scales are met by the printed figure of either."""

from __future__ import annotations

import pytest

from planner.limits import citation, limit, rule
from planner.sources import Status
from planner.units import celsius


@pytest.mark.parametrize("key", ["floor", "aim", "fridge", "brine_start", "raw_rte.warm_above", "airless_cold"])
@pytest.mark.parametrize("digits", [2, 6])
def test_a_thermometer_in_either_scale_meets_the_printed_figure(key: str, digits: int) -> None:
    there = limit(key)
    for value_c in (there.c, round(celsius(there.f, "degF"), digits)):
        assert there.reached(value_c)
        assert there.kept(value_c)


@pytest.mark.parametrize(("key", "below_f", "above_f"), [("floor", 144.9, 145), ("fridge", 38, 38.1)])
def test_a_tenth_of_a_degree_fahrenheit_past_the_figure_does_not(key: str, below_f: float, above_f: float) -> None:
    there = limit(key)
    if key == "floor":
        assert not there.reached(celsius(below_f, "degF"))
    else:
        assert not there.kept(celsius(above_f, "degF"))


def test_a_group_or_an_unknown_key_is_no_rule() -> None:
    for key in ("histamine", "no_such_rule"):
        with pytest.raises(KeyError):
            rule(key)


def test_a_citation_says_whether_the_source_was_read() -> None:
    assert citation("floor").status is Status.SEEN
    assert "as remembered" in citation("histamine.never_frozen").text()
    assert citation("hold_proof").text() == "our own rule, no source"
