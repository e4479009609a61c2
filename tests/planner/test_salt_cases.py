"""The published and worked cases of brine, water-phase salt and diffusion, one by one."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from scipy.optimize import brentq

from planner import diffusion, saltwater
from planner.brine import SaltSaid, brine, salt_to_add
from planner.piece import Composition, Piece
from planner.salted import Salted, loss_for_wps, salt_for_wps, wps
from planner.soak import soak_runs
from planner.units import grams, salometer_to_mass_pct
from tests.planner.known_runs import known
from tests.planner.tables import rows

US_GAL_ML, IMP_GAL_ML, CUP_ML = 3785.41, 4546.09, 236.588
#: USDA NDB 15236 as the cases have it: .6489 of water.
SALMON = Composition(water=0.6489, protein=0.2042, fat=0.1342, ash=0.0127)


def salmon(open_faces: int, hours: float, diffusivity: float = 4.5e-10) -> Salted:
    """25 mm salmon, 4 kg of 60 degree brine to the kg, at 5 °C where the diffusivity stands."""
    bath = brine(1000.0, SaltSaid("salometer_deg", 60.0))
    fish_g = bath.mass_g / 4.0
    return soak_runs(known(Piece(SALMON, 25.0, open_faces), diffusivity), bath, fish_g, hours=hours, temp_c=5.0)


def agar() -> float:
    """Geankoplis 7.1-1: 10.16 mm slab, both faces in water for 10 h, 0.1 kmol/m3 at the start."""
    fo = 4.72e-10 * 36000.0 / 0.00508**2
    return 0.1 * (1.0 - float(diffusion.profile(0.0, fo)[0]))


def per_gallon(deg: float, gallon_ml: float) -> float:
    pct = salometer_to_mass_pct(deg)
    water_g = gallon_ml * saltwater.water_g_per_ml(15.556)
    return pct / (100.0 - pct) * water_g / grams(1.0, "pound")


def carp() -> float:
    """5.4 min gave 3.5 %; the law of uptake says what 10 min give (bath much larger than the fillets)."""
    early = float(diffusion.uptake(0.001)[0])
    later = float(diffusion.uptake(0.001 * 10.0 / 5.4)[0])
    ratio = 3.5 / 96.5 * later / early
    return 100.0 * ratio / (1.0 + ratio)


def arrhenius() -> float:
    family = known(Piece(SALMON, 25.0), 1.0)
    return float(family.diffusivity(4.0)[0] / family.diffusivity(20.0)[0])


CASES: dict[str, Callable[[], float | tuple[float, ...]]] = {
    "BR01": lambda: brine(1000.0, SaltSaid("salometer_deg", 60.0)).salt_pct.mid,
    "BR02": lambda: brine(1000.0, SaltSaid("salometer_deg", 80.0)).salt_g_per_l_water.mid,
    "BR03": lambda: brine(1000.0, SaltSaid("salometer_deg", 60.0)).density_g_per_ml(20.0),
    "BR04": lambda: saltwater.density_g_per_ml(10.0, 20.0),
    "BR05": lambda: saltwater.density_g_per_ml(20.0, 20.0),
    "BR07": lambda: saltwater.solubility_pct(20.0),
    "BR08": lambda: per_gallon(60.0, US_GAL_ML),
    "BR09": lambda: per_gallon(60.0, IMP_GAL_ML),
    "BR10": lambda: brine(7 * CUP_ML, SaltSaid("salt_ml", CUP_ML, "table")).salt_pct.mid,
    "BR11": lambda: brine(7 * CUP_ML, SaltSaid("salt_g", 135.0)).salt_pct.mid,
    "BR12": lambda: brine(US_GAL_ML, SaltSaid("salt_ml", CUP_ML, "table")).salt_pct.mid,
    "BR13": lambda: salt_to_add(brine(9510.0, SaltSaid("salometer_deg", 50.0)), salometer_to_mass_pct(80.0)),
    "DF01": lambda: float(diffusion.uptake(0.1)[0]),
    "DF02": lambda: (
        brentq(lambda fo: float(diffusion.uptake(fo)[0]) - 0.5, 0.01, 1.0),
        brentq(lambda fo: float(diffusion.profile(0.0, fo)[0]) - 0.5, 0.01, 1.0),
    ),
    "DF03": lambda: float(diffusion.uptake(0.05, 1.0)[0]),
    "DF04": lambda: float(diffusion.uptake(0.2, 3.0)[0]),
    "DF05": agar,
    "DF06": lambda: salmon(2, 4.0).mean.mid,
    "DF07": lambda: salmon(2, 240.0, 1e-8).mean.mid,
    "DF08": lambda: salmon(1, 12.0).mean.mid,
    "DF09": carp,
    "DF10": arrhenius,
    **{f"wps{i}": lambda s=s, w=w: wps(s, w) for i, (s, w) in enumerate(
        [(2.5, 65.0), (2.0, 60.0), (1.8, 70.0), (3.0, 55.0), (2.36, 65.0), (1.5, 75.0)], start=1)},
    **{f"salt{i}": lambda t=t, w=w: salt_for_wps(t, w) for i, (t, w) in enumerate(
        [(3.5, 65.0), (3.0, 65.0), (3.5, 70.0), (5.0, 60.0)], start=1)},
    "wps_alt": lambda: wps(3.5, 100.0),
    "dry1": lambda: wps(2.0, 68.0 - 15.0),
    "dry2": lambda: loss_for_wps(2.0, 68.0, 3.5),
    "brine1": lambda: recipe_in_pounds(2.5),
    "brine2": lambda: recipe_in_pounds(1.5),
    "brine3": lambda: recipe(292.0, 3785.0),
    "brine4": lambda: recipe(1230.0, 7000.0),
    "brine5": lambda: recipe(267.69, 999.0)[0],
    "sal": lambda: salometer_to_mass_pct(70.0),
}  # fmt: skip

#: Rows that no part of the planner answers, and why.
LEFT_OUT = {"BR06": "no brine for food freezes in a fridge; the planner has no freezing point"}


def recipe(salt_g: float, water_g: float) -> tuple[float, float]:
    made = brine(water_g / saltwater.water_g_per_ml(20.0), SaltSaid("salt_g", salt_g))
    return made.salt_pct.mid, made.salometer_deg.mid


def recipe_in_pounds(salt_lb: float) -> tuple[float, float]:
    """As the sheet reckons: a gallon of water is 8.345 lb."""
    return recipe(grams(salt_lb, "pound"), grams(8.345, "pound"))


def numbers(printed: str) -> list[float]:
    return [float(part.split()[0]) for part in printed.replace(";", "/").split("/")]


TABLE = rows("salt_cases") + rows("salt_worked")


@pytest.mark.parametrize("row", [row for row in TABLE if row["id"] not in LEFT_OUT], ids=lambda row: row["id"])
def test_case(row: dict[str, str]) -> None:
    """Each against its own printed value and tolerance; the source stands in the row."""
    got = CASES[row["id"]]()
    tolerance = float(row.get("tol") or row["tolerance"])
    expected = numbers(row["expected"])
    found = got if isinstance(got, tuple) else (got,)
    assert len(found) == len(expected)
    for value, printed in zip(found, expected, strict=True):
        assert math.isclose(value, printed, abs_tol=tolerance), (value, printed)


def test_every_row_is_run_or_said_why_not() -> None:
    assert {row["id"] for row in TABLE} == set(CASES) | set(LEFT_OUT)
