"""Thawing frozen pieces in a fridge or in cold water."""

from __future__ import annotations

from planner.air import KELVIN
from planner.body import depth_m
from planner.convection import natural_plate
from planner.piece import Piece
from planner.properties import component, thermal
from planner.ranges import require_between
from planner.slab import STEFAN_BOLTZMANN
from planner.sources import rules
from planner.spread import Spread

#: Coefficient of gently moving cold water over a bag, and its spread as a factor [W/m2K].
WATER_H = 120.0
_WATER_SPREAD = 1.8
_AIR_SPREAD = 1.35


def thaw_time(
    piece: Piece, *, fridge_c: float | None = None, water_c: float | None = None, frozen_c: float = -18.0
) -> Spread:
    """Hours to thaw a piece through, in a fridge of ``fridge_c`` (0..10) or in water of ``water_c`` (0..15).

    R. Plank (1913), slab, as in Geankoplis, ch. 9.11: t = rho H / dT (P a / h + R a^2 / k), a the
    thickness, P 1/2, R 1/8, k of the thawed flesh; H is the latent heat of the water and what warms
    the ice from ``frozen_c`` (-40..-2). A piece on its skin thaws from both faces: skin is no bar to
    heat. Not all water freezes; counting all of it makes the time the longer one.
    """
    if (fridge_c is None) == (water_c is None):
        raise ValueError("say either fridge_c or water_c")
    require_between("frozen_c", frozen_c, -40.0, -2.0, "degC")
    if fridge_c is not None:
        around = require_between("fridge_c", fridge_c, 0.0, 10.0, "degC")
        h, spread = _air_h(around), _AIR_SPREAD
    else:
        around = require_between("water_c", float(water_c or 0.0), 0.0, 15.0, "degC")
        h, spread = WATER_H, _WATER_SPREAD
    slow = plank_h(piece, around, h / spread**1.28, frozen_c)
    return Spread(
        0.9 * plank_h(piece, around, h * spread**1.28, frozen_c),
        plank_h(piece, around, h, frozen_c),
        1.1 * slow,
    )


def plank_h(piece: Piece, around_c: float, h_w_m2k: float, frozen_c: float = -18.0) -> float:
    """Plank's time for one slab [h]; see :func:`thaw_time`."""
    data = rules("heat")
    freezing_c = data["freezing_point"]["value_c"]
    mix = piece.composition
    flesh = thermal(mix, 0.0)
    latent = mix.water * data["latent_heat_of_ice"]["value_j_kg"]
    ice_cp = mix.water * component("cp", "ice", -10.0) + flesh.cp - mix.water * component("cp", "water", 0.0)
    content = flesh.rho * (latent + ice_cp * (freezing_c - frozen_c))
    thickness = depth_m(piece) * piece.open_faces
    path = thickness / (2.0 * h_w_m2k) + thickness**2 / (8.0 * flesh.k)
    return float(content / (around_c - freezing_c) * path / 3600.0)


def _air_h(fridge_c: float) -> float:
    """Still fridge air and radiation on a surface that hangs at the freezing point [W/m2K]."""
    data = rules("heat")
    surface_c = data["freezing_point"]["value_c"]
    natural = float(natural_plate(fridge_c - surface_c, fridge_c))
    mean = 0.5 * (fridge_c + surface_c) + KELVIN
    return float(natural + 4.0 * data["emissivity"]["value"] * STEFAN_BOLTZMANN * mean**3)
