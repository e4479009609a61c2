"""Temperatures of the cold stages (1 NYCRR 262, Michigan Regulation 569, AFDO)."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from planner import cold_rules
from planner.cold_rules import ColdCheck
from planner.ranges import OutOfRange
from planner.units import celsius


@pytest.mark.parametrize(
    ("check", "limit_f"),
    [
        (cold_rules.fridge, 38),
        (cold_rules.brine_at_start, 60),
        (cold_rules.dry_salted, 38),
        (cold_rules.thawing, 38),
        (cold_rules.dry_for_cold_smoke, 40),
        (lambda value_c: cold_rules.soak(4.0, value_c), 60),
        (lambda value_c: cold_rules.soak(4.1, value_c), 38),
    ],
)
def test_the_printed_figure_is_kept_and_a_degree_more_is_not(
    check: Callable[[float | None], ColdCheck], limit_f: float
) -> None:
    assert check(celsius(limit_f, "degF")).kept
    assert not check(celsius(limit_f + 1, "degF")).kept
    assert not check(None).kept


def test_what_no_fridge_shows_is_refused() -> None:
    with pytest.raises(OutOfRange):
        cold_rules.fridge(80.0)
    with pytest.raises(OutOfRange):
        cold_rules.soak(-1.0, 3.0)
