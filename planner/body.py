"""From a piece of fish to the slab that the solver marches."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.piece import Piece
from planner.properties import Thermal, thermal
from planner.ranges import require_between
from planner.slab import WATER_CP, Slab

Floats = NDArray[np.float64]

#: How the heat through the edges of a narrow piece adds to that through its faces: 1 where the air
#: limits it (area by volume), 2 where the flesh does (lowest mode of a rectangle). Ours.
EDGE_POWER = 1.5


def depth_m(piece: Piece) -> float:
    """Depth from the open face to the mid-plane, or to the skin; shorter where edges help [m]."""
    depth = piece.thickness_mm * 1e-3 / piece.open_faces
    if piece.width_mm is None:
        return depth
    half_width = max(0.5 * piece.width_mm * 1e-3, depth)
    return float((depth**-EDGE_POWER + half_width**-EDGE_POWER) ** (-1.0 / EDGE_POWER))


def open_area_m2_kg(piece: Piece, at_c: float = 10.0) -> float:
    """Drying surface per kg of fish, edges included [m2/kg]."""
    edges = 2.0 / (piece.width_mm * 1e-3) if piece.width_mm else 0.0
    per_volume = piece.open_faces / (piece.thickness_mm * 1e-3) + edges
    return per_volume / thermal(piece.composition, at_c).rho


def slab_of(
    piece: Piece,
    *,
    at_c: float,
    start_c: float | Floats,
    wps_pct: float,
    diffusivity: float | Floats,
    thickness: float | Floats = 1.0,
    flesh: Thermal | None = None,
    dried_kg_m2: float | Floats = 0.0,
) -> Slab:
    """The family of slabs for a piece.

    ``at_c`` is the temperature at which properties are taken, ``wps_pct`` (0..26.4) the water-phase
    salt, ``diffusivity`` of water at 25 degC [m2/s], ``thickness`` a factor; arrays are runs.
    ``flesh`` overrides Choi and Okos. ``dried_kg_m2`` of water has left each open face over some
    hours of drying, from a layer whose thickness keeps its surface just moist.
    """
    require_between("wps_pct", wps_pct, 0.0, 26.4, "%")
    mix = piece.composition
    flesh = flesh or thermal(mix, at_c)
    solids = mix.protein + mix.ash + mix.carbohydrate
    depth = depth_m(piece) * np.atleast_1d(np.asarray(thickness, dtype=float))
    mass = flesh.rho * depth
    water0 = mix.water / solids
    dried = np.atleast_1d(np.asarray(dried_kg_m2, dtype=float))
    return Slab(
        depth_m=depth,
        conductivity=np.array([flesh.k]),
        solid_kg_m2=mass * solids,
        rest_j_m2k=mass * (flesh.cp - WATER_CP * mix.water),
        water0=np.array([water0]),
        salt=np.array([water0 * wps_pct / (100.0 - wps_pct)]),
        start_c=np.atleast_1d(np.asarray(start_c, dtype=float)),
        diffusivity=np.atleast_1d(np.asarray(diffusivity, dtype=float)),
        dried_kg_m2=dried,
        dried_depth=_dried_share(dried / (mass * solids * water0)),
        skin=piece.open_faces == 1,
    )


def _dried_share(taken: Floats) -> Floats:
    """Square root of the Fourier number at which a steady flux that took the share ``taken`` of the
    water leaves a quarter of it at the face: 1.128 taken / share = 0.75 (semi-infinite solid)."""
    return np.asarray(np.maximum(0.02, 2.0 / np.sqrt(np.pi) * taken / 0.75))
