"""The keep-by date: caps by temperature, 14 days at most, earlier only."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.growth import listeria_per_day, toxin_days
from planner.keeping import Keep, Pack, Product, keep_by
from planner.readings import Reading
from planner.sources import Status, table
from planner.units import celsius
from tests.planner.moments import LATER, T0, after, logs, read

PACKED = after(12 * 60)
COLD = read((0, 3.0))


def keep(
    fridge: list[Reading],
    *,
    product: Product = "hot",
    pack: Pack = "open",
    now: datetime = LATER,
    airless_proven: bool = False,
    histamine: bool = False,
    raw_chill_d: float = 0.0,
) -> Keep:
    return keep_by(
        smoked_at=T0,
        packed_at=PACKED,
        product=product,
        pack=pack,
        fridge=fridge,
        now=now,
        airless_proven=airless_proven,
        histamine=histamine,
        raw_chill_d=raw_chill_d,
    )


@pytest.mark.parametrize(
    ("fridge_f", "hot_d", "cold_d", "histamine_d"),
    [(38, 14, 7, 7), (36, 14, 7, 7), (41, 7, 4, 4), (39, 7, 4, 4), (50, 1, 1, 1), (42, 1, 1, 1)],
)
def test_days_by_temperature(fridge_f: float, hot_d: float, cold_d: float, histamine_d: float) -> None:
    """PNW and Michigan State University: 14 days at 38 °F; Table A-2: 7 days to 41 °F, 1 day to 50 °F.

    Histamine at 38 °F: 7 days, IFT report Table VI-1, delayed chill (vp1 of safety_clocks.csv).
    """
    fridge = [Reading(after(60), celsius(fridge_f, "degF"))]
    assert keep(fridge).days == pytest.approx(hot_d)
    assert keep(fridge, product="cold").days == pytest.approx(cold_d)
    assert keep(fridge, histamine=True).days == pytest.approx(histamine_d)


@pytest.mark.parametrize(("fridge_c", "hours"), [(15.0, 5), (25.0, 2), (28.0, 1)])
def test_hours_in_the_warm(fridge_c: float, hours: float) -> None:
    """FDA Hazards Guide 4th ed., Appendix 4, cooked ready-to-eat: 5 h, 2 h, 1 h."""
    found = keep_by(
        smoked_at=T0,
        packed_at=T0 + timedelta(minutes=1),
        product="hot",
        pack="open",
        fridge=[Reading(T0, fridge_c)],
        now=LATER,
        airless_proven=False,
        histamine=False,
    )
    assert found.until is not None
    assert found.days * 24 == pytest.approx(hours)


def test_a_fridge_nobody_read_is_not_called_cold() -> None:
    found = keep([])
    assert found.days == pytest.approx(7)
    assert "fridge_not_read" in found.why
    assert found.assumed_c == 5.0


def test_airless_gets_a_date_only_when_proven() -> None:
    assert keep(COLD, pack="airless").until is None
    assert keep(COLD, pack="airless").why == ("airless_not_proven",)
    assert keep(COLD, pack="airless", airless_proven=True).until == keep(COLD).until


def test_frozen_is_for_quality() -> None:
    """Michigan State University Extension, UAF FNH-00325: 2 to 3 months."""
    found = keep(COLD, pack="frozen")
    assert found.until == PACKED + timedelta(days=90)
    assert found.best_until == PACKED + timedelta(days=60)


def test_what_the_fridge_used_up_cannot_be_packed() -> None:
    warm = read((60, 25.0))
    for found in (keep(warm), keep(warm, pack="frozen")):
        assert found.until is None
        assert found.why[0] == "used_up"


def test_a_warm_reading_moves_the_date_and_a_cold_one_does_not_move_it_back() -> None:
    start = keep(COLD).until
    warm = [*COLD, *read((2 * 1440, 4.9))]
    moved = keep(warm).until
    assert start == T0 + timedelta(days=14)
    assert moved == T0 + timedelta(days=7)
    assert keep([*warm, *read((3 * 1440, 2.0))]).until == moved


def test_raw_days_count_for_fish_that_forms_histamine() -> None:
    assert keep(COLD, histamine=True, raw_chill_d=3.0).days == pytest.approx(4.0)
    assert keep(COLD, histamine=False, raw_chill_d=3.0).days == pytest.approx(14.0)
    assert keep(COLD, histamine=True, raw_chill_d=8.0).until is None


def test_no_cap_outlasts_the_toxin_model() -> None:
    """Skinner and Larkin 1998 at the top of each row that it reaches; the ceiling is 0.69 of it."""
    for row in table("storage_caps"):
        if row["to_c"] and float(row["to_c"]) <= 30.0:
            assert float(row["hours"]) / 24.0 <= 0.82 * toxin_days(float(row["to_c"]))
    assert 14 / toxin_days(3.3) == pytest.approx(0.69, abs=0.005)


def test_cold_smoked_fish_stays_below_one_decade_of_listeria() -> None:
    """Square-root model (Delignette-Muller 2006) at the top of each row of the fridge."""
    for row in table("storage_caps"):
        if row["class"] == "cold" and row["to_c"] and float(row["to_c"]) <= 10.0:
            assert float(row["hours"]) / 24.0 * listeria_per_day(float(row["to_c"])) < 1.0


def test_sources_name_the_row_that_set_the_date() -> None:
    assert keep(COLD).citations[0].source.key == "pnw_450"
    assert keep(read((60, 4.9))).citations[0].status is Status.MEMORY


FRIDGES = logs(0.0, 30.0, 20 * 1440, size=8)
ANY_KEEP = st.sampled_from(
    [
        lambda fridge, now: keep(fridge, now=now),
        lambda fridge, now: keep(fridge, now=now, product="cold"),
        lambda fridge, now: keep(fridge, now=now, histamine=True, raw_chill_d=1.0),
        lambda fridge, now: keep(fridge, now=now, pack="airless", airless_proven=True),
    ]
)
KeepFor = Callable[[list[Reading], datetime], Keep]


def latest(found: Keep) -> datetime:
    return found.until or T0


@given(ANY_KEEP, FRIDGES, st.integers(0, 7), st.floats(0.0, 10.0))
def test_a_warmer_reading_only_moves_it_earlier(
    keeping: KeepFor, fridge: list[Reading], which: int, warmer_k: float
) -> None:
    if not fridge:
        return
    i = which % len(fridge)
    warmer = [*fridge]
    warmer[i] = Reading(fridge[i].at, fridge[i].value_c + warmer_k)
    assert latest(keeping(warmer, LATER)) <= latest(keeping(fridge, LATER))


@given(ANY_KEEP, FRIDGES, st.integers(720, 30000), st.integers(720, 30000))
def test_after_packing_the_date_never_moves_later(keeping: KeepFor, fridge: list[Reading], a: int, b: int) -> None:
    early, late = sorted((a, b))
    assert latest(keeping(fridge, after(late))) <= latest(keeping(fridge, after(early)))


@given(ANY_KEEP, FRIDGES)
def test_never_beyond_two_weeks(keeping: KeepFor, fridge: list[Reading]) -> None:
    found = keeping(fridge, LATER)
    assert latest(found) <= T0 + timedelta(days=14)
    assert found.best_until is None or found.best_until <= T0 + timedelta(days=7)
