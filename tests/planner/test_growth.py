"""Growth of Listeria and time to toxin against published observations."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.growth import listeria_from_5c, listeria_per_day, square_root_rate, toxin_days
from planner.ranges import OutOfRange
from planner.units import celsius
from tests.planner.tables import rows

#: Three stages of the mc2d vignette: days, mean °C, sd K.
STAGES = ((1.1, 3.2, 2.1), (4.7, 5.5, 1.0), (4.3, 8.2, 2.0))

#: Printed rates at 5 °C that the printed growth does not give, with the reason.
CANNOT_HOLD = {
    ("Pelroy 1994b", "10", "0.249"): "4.5 to 7 logs in 10 d give 0.176: misprint or other data",
    (
        "Pelroy 1994b",
        "5",
        "0.092",
    ): "middle of 2.5 to 5 logs gives 0.094: another point was used",
}


def days_f(temp_f: float) -> float:
    return toxin_days(celsius(temp_f, "degF"))


def staged(start: float, mu: float, t_min_c: float) -> float:
    return start + sum(d * square_root_rate(t, mu, t_min_c, 25.0, s) for d, t, s in STAGES)


CASES: dict[str, Callable[[], float]] = {
    "ML01": lambda: listeria_per_day(5.0),
    "ML02": lambda: listeria_per_day(3.3),
    "ML03": lambda: listeria_per_day(8.0),
    "ML04": lambda: 1.0 / listeria_per_day(3.3),
    "ML05": lambda: staged(0.0, 6.2, -2.9),
    "ML06": lambda: staged(2.78, 4.1, -4.5),
    "ML07": lambda: staged(-1.0, 6.2, -2.9),
    "ML08": lambda: 2.1 / 28 / listeria_from_5c(4.0, 1.0),
    "ML09": lambda: 5.4 / 21 / listeria_from_5c(8.0, 1.0),
    "ML10": lambda: 6.0 / 20 / listeria_from_5c(10.0, 1.0),
    "ML11": lambda: listeria_from_5c(3.3),
    "MB01": lambda: days_f(38),
    "MB02": lambda: days_f(40),
    "MB03": lambda: days_f(41),
    "MB04": lambda: days_f(50),
    "MB05": lambda: days_f(60),
    "MB06": lambda: days_f(70),
    "MB07": lambda: toxin_days(0.0),
    "MB08": lambda: 10 / toxin_days(3.3) + 1 / toxin_days(10.0),
    "MB09": lambda: 5 / toxin_days(4.4) + 2 / 24 / toxin_days(21.1),
    "MB10": lambda: days_f(40) / days_f(60),
    "MB11": lambda: days_f(40) / days_f(72),
    "MB13": lambda: coldest_below(14.0),
}


def coldest_below(days: float) -> float:
    low, high = 3.3, 30.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (middle, high) if toxin_days(middle) > days else (low, middle)
    return low


@pytest.mark.parametrize(
    "row", [r for r in rows("safety_check_cases") if r["id"].startswith(("ML", "MB"))], ids=lambda r: r["id"]
)
def test_check_cases(row: dict[str, str]) -> None:
    assert CASES[row["id"]]() == pytest.approx(float(row["expected"]), abs=float(row["tol"]))


@pytest.mark.parametrize("row", rows("toxin_time"), ids=lambda row: row["temp_f"])
def test_time_to_toxin_by_hand(row: dict[str, str]) -> None:
    """Skinner and Larkin 1998, the equation worked by hand, three decimals."""
    assert days_f(float(row["temp_f"])) == pytest.approx(float(row["days"]), abs=0.0005)


@pytest.mark.parametrize("row", rows("toxin_observed"), ids=lambda row: f"{row['product'][:15]}-{row['temp_c']}")
def test_time_to_toxin_lies_below_every_observation(row: dict[str, str]) -> None:
    """Garcia and others 1987, Baker and Genigeorgis 1990: earliest toxin in unsalted fish."""
    assert toxin_days(float(row["temp_c"])) < float(row["earliest_d"])


@pytest.mark.parametrize(
    "row", rows("listeria_growth"), ids=lambda row: f"{row['study']}-{row['temp_c']}-{row['egr5']}"
)
def test_listeria_rates_at_5_degrees(row: dict[str, str]) -> None:
    """FDA/FSIS 2003, Appendix 8, Table 1: three decimals, some of them cut instead of rounded."""
    per_day = float(row["logs"]) / float(row["hours"]) * 24.0
    found = per_day / listeria_from_5c(float(row["temp_c"]), 1.0)
    holds = abs(found - float(row["egr5"])) <= 0.001
    assert holds != ((row["study"], row["temp_c"], row["egr5"]) in CANNOT_HOLD)


def test_the_two_listeria_models_stand_in_their_published_order() -> None:
    """Square-root model above the mean of the US table, both below its highest row (0.556 at 5 °C)."""
    assert listeria_from_5c(5.0) < listeria_per_day(5.0) < 0.556


@given(st.floats(-5.0, 24.0), st.floats(0.0, 1.0), st.floats(0.0, 5.0))
def test_warmer_or_less_steady_grows_no_slower(temp_c: float, warmer_k: float, sd_k: float) -> None:
    assert listeria_per_day(temp_c + warmer_k, sd_k) >= listeria_per_day(temp_c, sd_k)
    assert listeria_per_day(temp_c, sd_k) >= listeria_per_day(temp_c)


@given(st.floats(-20.0, 29.0), st.floats(0.0, 1.0))
def test_warmer_never_takes_longer_to_toxin(temp_c: float, warmer_k: float) -> None:
    assert toxin_days(temp_c + warmer_k) <= toxin_days(temp_c)


def test_outside_their_ranges_the_models_refuse() -> None:
    for call in (lambda: toxin_days(31.0), lambda: listeria_per_day(26.0), lambda: listeria_from_5c(16.0)):
        with pytest.raises(OutOfRange):
            call()
