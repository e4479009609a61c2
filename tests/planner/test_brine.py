"""Brine: every way of saying it to every other, against published recipes and tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.brine import (
    SugarInBrine,
    brine,
    brine_to_cover,
    recipe_for,
    salt_from_hydrometer,
    salt_to_add,
    water_in,
)
from planner.brine_said import OneStrength, SaltSaid, SugarSaid, salt_said, sugar_said
from planner.ranges import OutOfRange
from planner.salts import salt
from planner.saltwater import OverSaturated

GALLON_ML = 3785.41
CUP_ML = 236.588

strengths = st.floats(0.5, 25.0)
waters = st.floats(100.0, 50_000.0)


def of(form: str, value: float, kind: str = "kosher", water_ml: float = 1000.0):
    return brine(water_ml, SaltSaid(form, value, kind))


@given(strengths, waters)
def test_every_exact_way_of_saying_it_gives_the_same_brine(pct: float, water_ml: float) -> None:
    one = of("salt_pct", pct, water_ml=water_ml)
    assert one.salt_pct.mid == pytest.approx(pct)
    for form, value in (
        ("salt_g", one.salt_g.mid),
        ("salt_g_per_l", one.salt_g.mid / water_ml * 1000.0),
        ("salometer_deg", one.salometer_deg.mid),
        ("salt_g_per_l_brine", one.salt_g_per_l()),
        ("salt_ml", one.salt_g.mid / salt("table").g_per_ml.mid),
        ("salt_ml_per_l", one.salt_g.mid / salt("table").g_per_ml.mid / water_ml * 1000.0),
    ):
        again = of(form, value, "table", water_ml)
        assert again.salt_g.mid == pytest.approx(one.salt_g.mid, rel=1e-6), form
        assert again.water_g == one.water_g


@given(strengths, waters, st.floats(0.0, 40.0))
def test_masses_and_volumes_balance(pct: float, water_ml: float, temp_c: float) -> None:
    made = of("salt_pct", pct, water_ml=water_ml)
    assert made.volume_ml(temp_c) * made.density_g_per_ml(temp_c) == pytest.approx(made.mass_g, rel=1e-9)
    inside = made.salt_g_per_l(temp_c) * made.volume_ml(temp_c) / 1000.0
    assert inside == pytest.approx(made.salt_g.mid, rel=1e-9)
    assert water_in(made.volume_ml(), pct) == pytest.approx(water_ml, rel=1e-6)


@given(strengths, st.floats(0.01, 0.4))
def test_saltier_is_saltier(pct: float, more: float) -> None:
    weak, strong = of("salt_pct", pct), of("salt_pct", pct + more)
    assert strong.salt_g.mid > weak.salt_g.mid
    assert strong.salometer_deg.mid > weak.salometer_deg.mid
    assert strong.density_g_per_ml() > weak.density_g_per_ml()


def test_volume_of_unknown_flake_is_a_spread_and_weight_is_none() -> None:
    cup = of("salt_ml_per_l", CUP_ML / GALLON_ML * 1000.0, "kosher", GALLON_ML)
    assert cup.salt_pct.high > 1.8 * cup.salt_pct.low
    assert of("salt_g", 150.0).salt_pct.low == of("salt_g", 150.0).salt_pct.high


@pytest.mark.parametrize(
    ("kind", "pct"),
    # PNW 238: 1 part of salt to 7 of water by volume; USDA NDB 02047: 292 g a cup of table salt.
    [("table", 15.0)],
)
def test_one_to_seven_by_volume(kind: str, pct: float) -> None:
    made = of("salt_ml_per_l", 1000.0 / 7.0, kind)
    assert made.salt_pct.mid == pytest.approx(pct, abs=0.1)


def test_a_cup_of_table_salt_to_the_gallon() -> None:
    """292 g in 3778.6 g of water: 7.17 %; Michigan State University Extension 1997 prints 30 salimeter."""
    made = of("salt_ml", CUP_ML, "table", GALLON_ML)
    assert made.salt_pct.mid == pytest.approx(7.17, abs=0.01)
    assert made.salometer_deg.mid == pytest.approx(30.0, abs=3.0)


@given(st.floats(2.0, 20.0), st.floats(0.01, 1.0))
def test_a_share_is_of_all_that_is_in_it(pct: float, parts: float) -> None:
    made = brine(1000.0, SaltSaid("salt_pct", pct), SugarSaid("sugar_per_salt", parts))
    assert 100.0 * made.salt_g.mid / made.mass_g == pytest.approx(pct)
    assert made.sugar_g.mid == pytest.approx(parts * made.salt_g.mid)


def test_sugar_in_every_form() -> None:
    said = SaltSaid("salt_g", 100.0)
    assert brine(2000.0, said, SugarSaid("sugar_g", 50.0)).sugar_g.mid == 50.0
    assert brine(2000.0, said, SugarSaid("sugar_g_per_l", 25.0)).sugar_g.mid == 50.0
    # USDA NDB 19334: 220 g a cup, packed.
    by_cup = brine(2000.0, said, SugarSaid("sugar_ml", CUP_ML, "brown"))
    assert by_cup.sugar_g.mid == pytest.approx(220.0, abs=0.5)
    by_volume = brine(2000.0, SaltSaid("salt_ml", CUP_ML, "table"), SugarSaid("sugar_per_salt", 1.0, "brown", "volume"))
    assert by_volume.sugar_g.mid == pytest.approx(220.0, abs=0.5)


def test_the_water_in_honey_is_water() -> None:
    """USDA NDB 19296: 17.1 % water."""
    made = brine(1000.0, SaltSaid("salt_g", 80.0), SugarSaid("sugar_g", 100.0, "honey"))
    assert made.sugar_g.mid == pytest.approx(82.9)
    assert made.mass_g == pytest.approx(80.0 + 100.0 + 998.2, abs=0.1)


@given(st.floats(2.0, 12.0), st.floats(10.0, 150.0))
def test_a_hydrometer_reads_sugar_as_salt_so_it_is_not_believed(pct: float, sugar_g: float) -> None:
    plain, sweet = recipe_for(pct, 1000.0), recipe_for(pct, 1000.0, sugar_g)
    assert plain.hydrometer_deg() == pytest.approx(plain.salometer_deg.mid, abs=1e-3)
    assert sweet.hydrometer_deg() > sweet.salometer_deg.mid
    with pytest.raises(SugarInBrine):
        salt_from_hydrometer(sweet.hydrometer_deg(), 15.6, sugar_in_it=True)


def test_sucrose_reads_like_half_as_much_salt() -> None:
    """Handbook densities 1.0381 (10 % sucrose) and 1.034, 1.0413 (5 and 6 % salt): 10 % reads as 5.6 %."""
    sweet = brine(1000.0, SaltSaid("salt_g", 0.0), SugarSaid("sugar_g", 998.2 / 9.0))
    assert sweet.hydrometer_deg() * 0.26395 == pytest.approx(5.56, abs=0.1)


def test_reading_of_a_hydrometer() -> None:
    """Sea Fish Industry Authority: 60 degrees is 15.84 %; the sheet adds a degree for 10 °F above 60 °F."""
    assert salt_from_hydrometer(60.0, 15.556, sugar_in_it=False) == pytest.approx(15.84, abs=0.01)
    assert salt_from_hydrometer(59.0, 21.111, sugar_in_it=False) == pytest.approx(15.84, abs=0.01)


@pytest.mark.parametrize("form", ["salt_g_per_l", "salt_g"])
def test_more_than_dissolves_is_refused(form: str) -> None:
    with pytest.raises(OverSaturated, match=r"26\.395"):
        of(form, 400.0)


@pytest.mark.parametrize(("form", "value"), [("salt_pct", 30.0), ("salometer_deg", 101.0), ("salt_pct", 100.0)])
def test_a_share_over_saturation_is_refused(form: str, value: float) -> None:
    with pytest.raises(OverSaturated):
        of(form, value)


@pytest.mark.parametrize(
    ("form", "value", "water_ml"),
    [("salt_g", -1.0, 1000.0), ("salt_g", 100.0, -5.0), ("salt_g", 100.0, 0.0), ("salt_g", float("nan"), 1e3),
     ("salt_g_per_l_brine", 500.0, 1000.0)],
)  # fmt: skip
def test_impossible_amounts_are_refused(form: str, value: float, water_ml: float) -> None:
    with pytest.raises(OutOfRange):
        of(form, value, water_ml=water_ml)


def test_slots_say_one_salt_and_at_most_one_sugar() -> None:
    assert salt_said({"salt_pct": 8.0, "salt_kind": None}) == SaltSaid("salt_pct", 8.0, "kosher")
    assert salt_said({"salt_ml_per_l": 60, "salt_kind": "table"}) == SaltSaid("salt_ml_per_l", 60.0, "table")
    assert sugar_said({}) is None
    assert sugar_said({"sugar_per_salt": 0.5, "by": "volume"}) == SugarSaid("sugar_per_salt", 0.5, "white", "volume")
    with pytest.raises(OneStrength, match="none"):
        salt_said({"water_ml": 1000})
    with pytest.raises(OneStrength, match="salt_g, salt_pct"):
        salt_said({"salt_g": 10, "salt_pct": 8})
    with pytest.raises(OneStrength):
        sugar_said({"sugar_g": 10, "sugar_g_per_l": 8})


@given(st.floats(1.0, 20.0), st.floats(0.1, 5.0), st.floats(0.0, 100.0))
def test_salt_to_add_gets_there(pct: float, more: float, sugar_g: float) -> None:
    weak = recipe_for(pct, 5000.0, sugar_g)
    added = salt_to_add(weak, pct + more)
    there = brine(5000.0, SaltSaid("salt_g", weak.salt_g.mid + added), SugarSaid("sugar_g", sugar_g))
    assert there.salt_pct.mid == pytest.approx(pct + more)


def test_salt_to_add_refuses_a_weaker_aim() -> None:
    with pytest.raises(OutOfRange):
        salt_to_add(recipe_for(10.0, 1000.0), 8.0)


@given(st.floats(100.0, 20_000.0), st.floats(1.2, 5.0))
def test_brine_and_fish_fill_the_container(fish_g: float, room: float) -> None:
    """Flesh is 1.05 g/ml (1.04 to 1.06 by its composition)."""
    container = room * fish_g
    found = brine_to_cover(fish_g, container)
    assert found.mid + fish_g / 1.05 == pytest.approx(container)
    assert brine_to_cover(fish_g).low < brine_to_cover(fish_g).mid < brine_to_cover(fish_g).high


def test_fish_that_does_not_fit_is_refused() -> None:
    with pytest.raises(OutOfRange, match="container_ml"):
        brine_to_cover(5000.0, 3000.0)
