"""A brine, from any way of saying how strong it is, to any other.

Everything rests on masses: salt, sugar and water in grams. Salt measured by volume is a mass with a
spread, and the spread stays with the brine.
"""

from __future__ import annotations

from dataclasses import dataclass

from planner import saltwater
from planner.brine_said import SaltSaid, SugarSaid, exact
from planner.ranges import OutOfRange, require_between
from planner.salts import sugar as sugar_of
from planner.sources import rules
from planner.spread import Spread
from planner.units import celsius, salometer_to_mass_pct

#: Temperature at which water is measured out, and at which volumes are meant where nobody said.
KITCHEN_C = 20.0
#: Fridge temperature: a brine has to stay dissolved there.
COLD_C = 4.0


class SugarInBrine(ValueError):
    """A hydrometer cannot tell salt from sugar."""

    def __init__(self) -> None:
        super().__init__("a salometer reads sugar as salt; work the strength out from what was weighed")


@dataclass(frozen=True)
class Brine:
    """Salt, sugar (dry) and water, in g; the sugar's own water counts as water."""

    salt_g: Spread
    sugar_g: Spread
    water_g: float

    def __post_init__(self) -> None:
        require_between("water_g", self.water_g, 1.0, 1e7, "g")
        require_between("salt_g", self.salt_g.low, 0.0, 1e7, "g")
        require_between("sugar_g", self.sugar_g.low, 0.0, 1e7, "g")

    @property
    def mass_g(self) -> float:
        """Mass of all, best guess."""
        return self.salt_g.mid + self.sugar_g.mid + self.water_g

    @property
    def water_ml(self) -> float:
        """Volume of its water at 20 °C."""
        return self.water_g / saltwater.water_g_per_ml(KITCHEN_C)

    @property
    def salt_pct(self) -> Spread:
        """Percent salt of the brine's mass, sugar included in that mass."""
        return self._share(self.sugar_g.mid + self.water_g)

    @property
    def water_phase_pct(self) -> Spread:
        """Salt in percent of salt and water: what the fish feels, and what can dissolve."""
        return self._share(self.water_g)

    @property
    def ratio(self) -> Spread:
        """Grams of salt to a gram of water."""
        return self.salt_g.scaled(1.0 / self.water_g)

    @property
    def salometer_deg(self) -> Spread:
        """Strength in degrees salometer, by the salt alone; with sugar an instrument shows more."""
        return self.salt_pct.scaled(saltwater.degrees(1.0))

    @property
    def salt_g_per_l_water(self) -> Spread:
        """Grams of salt to a litre of water of 20 °C."""
        return self.ratio.scaled(1000.0 * saltwater.water_g_per_ml(KITCHEN_C))

    def density_g_per_ml(self, temp_c: float = KITCHEN_C) -> float:
        """Density [g/ml], 0 to 40 °C, best guess; sugar takes up the volume it does in plain water."""
        return self.mass_g / self.volume_ml(temp_c)

    def volume_ml(self, temp_c: float = KITCHEN_C) -> float:
        """Volume [ml], 0 to 40 °C, best guess."""
        salt_water = self.salt_g.mid + self.water_g
        dissolved = self.sugar_g.mid * float(rules("saltwater")["dissolved_sugar"]["ml_per_g"])
        return salt_water / saltwater.density_g_per_ml(self.water_phase_pct.mid, temp_c) + dissolved

    def salt_g_per_l(self, temp_c: float = KITCHEN_C) -> float:
        """Grams of salt in a litre of the brine, best guess."""
        return 1000.0 * self.salt_g.mid / self.volume_ml(temp_c)

    def hydrometer_deg(self) -> float:
        """What a salometer shows in it at 60 °F, sugar read as salt. Raises OutOfRange off its scale."""
        calibration_c = celsius(60.0, "degF")
        density = self.density_g_per_ml(calibration_c)
        return saltwater.degrees(saltwater.pct_of_density(density, calibration_c))

    def _share(self, rest_g: float) -> Spread:
        low, mid, high = (100.0 * s / (s + rest_g) for s in (self.salt_g.low, self.salt_g.mid, self.salt_g.high))
        return Spread(low, mid, high)


def brine(water_ml: float, salt: SaltSaid, sugar: SugarSaid | None = None, temp_c: float = COLD_C) -> Brine:
    """A brine on ``water_ml`` of water (10 to 1e6) from salt and sugar as they were said.

    A share (``salt_pct``) is of the brine's whole mass, sugar included; ``salometer_deg`` is 1/100 of
    26.395 % of it. ``temp_c`` (0 to 40) is the coldest it will be.
    Raises OverSaturated (more than dissolves at ``temp_c``), UnknownIngredient, OutOfRange.
    """
    require_between("water_ml", water_ml, 10.0, 1e6, "ml")
    require_between(salt.form, salt.value, 0.0, 1e7, "")
    water_g = water_ml * saltwater.water_g_per_ml(KITCHEN_C)
    salt_g = salt.measured_g(water_ml)
    if salt_g is None:
        salt_g = _salt_for_share(_salt_share(salt, temp_c), salt.kind, water_ml, sugar)
    if sugar is None:
        mixed = Brine(salt_g, exact(0.0), water_g)
    else:
        require_between(sugar.form, sugar.value, 0.0, 1e7, "")
        sugar_g = sugar.measured_g(water_ml) or sugar.per_salt(salt.kind).scaled(salt_g.mid)
        wet = sugar_of(sugar.kind).water
        mixed = Brine(salt_g, sugar_g.scaled(1.0 - wet), water_g + wet * sugar_g.mid)
    saltwater.require_soluble(mixed.water_phase_pct.mid, temp_c)
    return mixed


def recipe_for(strength_pct: float, water_ml: float, sugar_g: float = 0.0, temp_c: float = COLD_C) -> Brine:
    """The brine to weigh out: ``strength_pct`` percent salt of its mass on ``water_ml`` of water.

    Its spreads are points: what is weighed has none. Raises OverSaturated, OutOfRange.
    """
    return brine(water_ml, SaltSaid("salt_pct", strength_pct), SugarSaid("sugar_g", sugar_g), temp_c)


def salt_to_add(weak: Brine, strength_pct: float, temp_c: float = COLD_C) -> float:
    """Grams of salt that bring ``weak`` (best guess) to ``strength_pct`` of its mass, water kept.

    Raises OverSaturated, and OutOfRange where it is as strong already.
    """
    share = require_between("strength_pct", strength_pct, weak.salt_pct.mid, 99.0, "%") / 100.0
    needed = share / (1.0 - share) * (weak.water_g + weak.sugar_g.mid)
    saltwater.require_soluble(100.0 * needed / (needed + weak.water_g), temp_c)
    return needed - weak.salt_g.mid


def salt_from_hydrometer(reading_deg: float, temp_c: float, sugar_in_it: bool) -> float:
    """Percent salt of the brine's mass from a salometer reading at ``temp_c`` (4.4 to 26.7 °C).

    Raises SugarInBrine once there is sugar in it, OutOfRange.
    """
    if sugar_in_it:
        raise SugarInBrine
    return salometer_to_mass_pct(max(0.0, saltwater.at_calibration(reading_deg, temp_c)))


def water_in(brine_ml: float, salt_pct: float, temp_c: float = KITCHEN_C) -> float:
    """Millilitres of water (20 °C) in ``brine_ml`` of sugar-free brine with ``salt_pct`` percent salt."""
    require_between("brine_ml", brine_ml, 10.0, 1e6, "ml")
    water_g = brine_ml * saltwater.density_g_per_ml(salt_pct, temp_c) * (1.0 - salt_pct / 100.0)
    return water_g / saltwater.water_g_per_ml(KITCHEN_C)


def brine_to_cover(fish_mass_g: float, container_ml: float | None = None) -> Spread:
    """Millilitres of brine that cover the pieces, in a container or laid loosely in any.

    ``container_ml`` is what it holds up to the level that covers them. Raises OutOfRange where the
    fish alone does not fit. Without a container: our own rule, 0.7 to 1.5 times the fish's volume.
    """
    require_between("fish_mass_g", fish_mass_g, 1.0, 1e6, "g")
    rule = rules("saltwater")["covering"]
    fish_ml = fish_mass_g / float(rule["fish_g_per_ml"])
    if container_ml is None:
        return Spread(rule["low"] * fish_ml, rule["mid"] * fish_ml, rule["high"] * fish_ml)
    if container_ml <= fish_ml:
        raise OutOfRange("container_ml", fish_ml, 1e6, "ml", container_ml)
    room = container_ml - fish_ml
    return exact(room)


def _salt_share(salt: SaltSaid, temp_c: float) -> float:
    """The salt's share of the brine's mass [kg/kg], where a share was said."""
    match salt.form:
        case "salometer_deg":
            pct = salometer_to_mass_pct(salt.value)
        case "salt_g_per_l_brine":
            pct = saltwater.pct_of_litre(salt.value)
        case _:
            pct = salt.value
    return saltwater.require_soluble(pct, temp_c) / 100.0


def _salt_for_share(share: float, kind: str, water_ml: float, sugar: SugarSaid | None) -> Spread:
    """Salt that makes up ``share`` of salt, sugar and water together."""
    water_g = water_ml * saltwater.water_g_per_ml(KITCHEN_C)
    if sugar is None:
        return exact(share / (1.0 - share) * water_g)
    sugar_g = sugar.measured_g(water_ml)
    if sugar_g is not None:
        return exact(share / (1.0 - share) * (water_g + sugar_g.mid))
    together = share * (1.0 + sugar.per_salt(kind).mid)
    require_between("salt and sugar together", 100.0 * together, 0.0, 90.0, "% of the brine")
    return exact(share * water_g / (1.0 - together))
