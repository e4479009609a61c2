"""Diffusion in a slab with given fluxes at its faces, exact in the modes of its cosine series.

With u = sum a_m cos(m pi x), x from the open face (0) to the back (1), a flux that changes linearly
over a step is integrated exactly; modes beyond the last one kept follow the flux at once and are
summed in closed form. No cell is ever narrower than a boundary layer, so a few modes do what a
fine grid does.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_SMALL = 1e-2  # below this the closed form of the weights loses digits


@dataclass(frozen=True)
class Basis:
    """The first ``count`` cosine modes."""

    count: int

    @cached_property
    def decay(self) -> Floats:
        """(m pi)^2."""
        return np.asarray((np.arange(self.count) * np.pi) ** 2)

    @cached_property
    def forcing(self) -> Floats:
        """What a unit flux into the open face gives to each mode."""
        return np.where(np.arange(self.count) == 0, 1.0, 2.0)

    @cached_property
    def sign(self) -> Floats:
        """Value of each mode at the back."""
        return np.where(np.arange(self.count) % 2 == 0, 1.0, -1.0)

    def shape(self, place: float) -> Floats:
        """Value of each mode at ``place`` (0 open face .. 1 back)."""
        return np.asarray(np.cos(np.arange(self.count) * np.pi * place))

    def rest(self, place: float) -> float:
        """Sum over the modes not kept of 2 cos(m pi place) / (m pi)^2."""
        kept = self.shape(place)[1:] @ (2.0 / self.decay[1:])
        return float(1.0 / 3.0 - place + 0.5 * place * place - kept)


def step_weights(z: Floats) -> tuple[Floats, Floats, Floats]:
    """Factor of the old value, and weights of the old and the new flux, for decay ``z`` over a step."""
    left = np.exp(-z)
    safe = np.maximum(z, _SMALL)
    new = np.where(z < _SMALL, 0.5 + z * (z / 24.0 - 1.0 / 6.0), (safe - 1.0 + left) / (safe * safe))
    both = np.where(z < _SMALL, 1.0 + z * (z / 6.0 - 0.5), (1.0 - left) / safe)
    return left, both - new, new
