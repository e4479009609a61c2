"""What a cup weighs, against the published cups."""

from __future__ import annotations

import pytest

from planner.salts import UnknownIngredient, kinds, salt, sugar

CUP_ML = 236.588


@pytest.mark.parametrize(
    ("kind", "g_per_cup"),
    # USDA Standard Reference: NDB 02047 salt, 19334 brown sugar packed, 19296 honey, 19304 molasses.
    [("table", 292), ("brown", 220), ("honey", 339), ("molasses", 337)],
)
def test_a_cup_as_published(kind: str, g_per_cup: float) -> None:
    found = salt(kind) if kind == "table" else sugar(kind)
    assert found.g_per_ml.mid * CUP_ML == pytest.approx(g_per_cup, abs=0.5)


def test_tablespoon_of_table_salt_is_within_its_spread() -> None:
    """USDA Standard Reference, NDB 02047: 18 g a tablespoon (14.787 ml)."""
    assert salt("table").g_per_ml.low <= 18.0 / 14.787 <= salt("table").g_per_ml.high


def test_an_unknown_flake_covers_both_flakes() -> None:
    light, dense, unknown = salt("flake_light"), salt("flake_dense"), salt("kosher")
    assert unknown.g_per_ml.low <= light.g_per_ml.low
    assert unknown.g_per_ml.high >= dense.g_per_ml.high
    assert light.g_per_ml.mid < unknown.g_per_ml.mid < dense.g_per_ml.mid


def test_the_contract_s_kinds_are_there_and_others_refused() -> None:
    assert {"table", "fine_sea", "flake_light", "flake_dense", "coarse", "kosher"} <= set(kinds("salt"))
    with pytest.raises(UnknownIngredient, match="road; known are table"):
        salt("road")
    with pytest.raises(UnknownIngredient):
        sugar("table")


@pytest.mark.parametrize("group", ["salt", "sugar"])
def test_every_kind_has_a_source(group: str) -> None:
    for kind in kinds(group):
        found = salt(kind) if group == "salt" else sugar(kind)
        assert found.citation.text()
        assert 0.0 <= found.water < 1.0
