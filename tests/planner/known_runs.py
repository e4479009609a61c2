"""A family in which nothing is unknown, for checks against sums by hand."""

from __future__ import annotations

import numpy as np

from planner.piece import Piece
from planner.salting import RUNS, Family


def known(piece: Piece, diffusivity: float, activation: float = 20.0) -> Family:
    """No edges, no partition; ``diffusivity`` [m2/s] stands at 5 °C."""

    def all_runs(value: float) -> np.ndarray:
        return np.full(RUNS + 1, value)

    return Family(
        piece=piece,
        diffusivity_5c=all_runs(diffusivity),
        activation_kj_mol=all_runs(activation),
        partition=all_runs(1.0),
        depth_mm=all_runs(piece.thickness_mm / piece.open_faces),
        aspect=all_runs(0.0),
    )
