"""From a piece of fish to the slab that the solver marches."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.air import KELVIN
from planner.piece import Piece
from planner.properties import Thermal, thermal
from planner.ranges import require_between
from planner.slab import GAS_CONSTANT, WATER_CP, Slab
from planner.sources import rules

Floats = NDArray[np.float64]

#: Share of W^2 / alpha after which the middle feels the edges, W half the width: fitted to
#: two-dimensional runs of pieces 50 to 140 mm wide. Ours.
EDGE_TIME_SHARE = 0.4


def depth_m(piece: Piece) -> float:
    """Depth from the open face to the mid-plane, or to the skin [m]."""
    return piece.thickness_mm * 1e-3 / piece.open_faces


def edges(piece: Piece, alpha: float) -> tuple[float, float]:
    """Heat through the edges against that through the open face, and when the middle feels it [s]."""
    if piece.width_mm is None:
        return 0.0, 1.0
    half_width = 0.5e-3 * max(piece.width_mm, piece.thickness_mm)
    return depth_m(piece) / half_width, EDGE_TIME_SHARE * half_width**2 / alpha


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
    hours of drying.
    """
    require_between("wps_pct", wps_pct, 0.0, 26.4, "%")
    mix = piece.composition
    flesh = flesh or thermal(mix, at_c)
    solids = mix.protein + mix.ash + mix.carbohydrate
    depth = depth_m(piece) * np.atleast_1d(np.asarray(thickness, dtype=float))
    mass = flesh.rho * depth
    water0 = mix.water / solids
    share, felt_s = edges(piece, flesh.alpha)
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
        dried_depth=_dried_share(dried, depth),
        edge_share=np.array([share]),
        edge_s=np.array([felt_s]),
        skin=piece.open_faces == 1,
    )


def _dried_share(dried: Floats, depth: Floats) -> Floats:
    """Share of the depth that water came from while drying took ``dried`` kg/m2 at a usual rate."""
    data = rules("heat")
    water, usual = data["water_diffusivity"], data["usual_drying"]
    warm = 1.0 / (water["at_c"] + KELVIN) - 1.0 / (usual["surface_c"] + KELVIN)
    diffusivity = water["value"] * np.exp(water["activation_kj_mol"] * 1e3 / GAS_CONSTANT * warm)
    seconds = np.maximum(dried, 1e-3) / (usual["rate_kg_m2h"] / 3600.0)
    return np.asarray(np.sqrt(diffusivity * seconds) / depth)
