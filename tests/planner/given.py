"""Pieces and surroundings that the heat tests share."""

from __future__ import annotations

import numpy as np

from planner.piece import Composition, Piece
from planner.slab import Slab, Surroundings

#: USDA Standard Reference, NDB 15236, Atlantic salmon, farmed, raw: parts of their sum.
SALMON = Composition(water=64.89 / 99.86, protein=20.42 / 99.86, fat=13.42 / 99.86, ash=1.13 / 99.86)
FILLET = Piece(SALMON, 25.0, 2)


def one(value: float) -> np.ndarray:
    return np.array([float(value)])


def bare_slab(depth_m: float, k: float, alpha: float, start_c: float) -> Slab:
    """A slab of plain material that holds no water: textbook conduction."""
    return Slab(
        depth_m=one(depth_m),
        conductivity=one(k),
        solid_kg_m2=one(1.0),
        rest_j_m2k=one(k / alpha * depth_m),
        water0=one(0.0),
        salt=one(0.0),
        start_c=one(start_c),
        diffusivity=one(1e-10),
    )


def plain_air(air_c: float, h: float, count: int, **more) -> Surroundings:
    """Air with one coefficient, no natural convection and, unless told, no radiation or evaporation."""
    given = {"emissivity": one(0.0), "factor": one(1.0), "evaporates": False} | more
    return Surroundings(
        air_c=np.full((count, 1), float(air_c)),
        vapour_pa=given.pop("vapour_pa", np.zeros((count, 1))),
        forced=np.full((count, 1), float(h)),
        natural=given.pop("natural", np.zeros((count, 1))),
        **given,
    )
