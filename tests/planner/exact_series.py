"""Exact solutions of conduction by series, as the textbooks give them: the yardstick for the solver.

Incropera, ch. 5.5-5.7; Geankoplis, ch. 5.3. Checked themselves against printed examples.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq
from scipy.special import erfc, j0, j1

TERMS = 60


def _roots(function, edges):
    return np.array([brentq(function, a, b) for a, b in edges])


def plane(biot: float, fourier: float, place: float) -> float:
    """Share of the first difference left at ``place`` (0 middle or insulated face .. 1 surface)."""
    gap = 1e-12
    zeta = _roots(
        lambda z: z * np.sin(z) - biot * np.cos(z),
        [(n * np.pi + gap, n * np.pi + np.pi / 2 - gap) for n in range(TERMS)],
    )
    c = 4 * np.sin(zeta) / (2 * zeta + np.sin(2 * zeta))
    return float(np.sum(c * np.exp(-(zeta**2) * fourier) * np.cos(zeta * place)))


def cylinder(biot: float, fourier: float, place: float) -> float:
    """The same in a long cylinder; ``place`` 0 axis .. 1 surface."""
    grid = np.linspace(1e-9, 3.2 * TERMS, 40 * TERMS)
    value = grid * j1(grid) - biot * j0(grid)
    edges = [(grid[i], grid[i + 1]) for i in range(len(grid) - 1) if value[i] * value[i + 1] < 0]
    zeta = _roots(lambda z: z * j1(z) - biot * j0(z), edges)
    c = 2 / zeta * j1(zeta) / (j0(zeta) ** 2 + j1(zeta) ** 2)
    return float(np.sum(c * np.exp(-(zeta**2) * fourier) * j0(zeta * place)))


def sphere_centre(biot: float, fourier: float) -> float:
    """The same at the centre of a sphere."""
    gap = 1e-9
    zeta = _roots(
        lambda z: z * np.cos(z) + (biot - 1) * np.sin(z),
        [(n * np.pi + gap, (n + 1) * np.pi - gap) for n in range(TERMS)],
    )
    c = 4 * (np.sin(zeta) - zeta * np.cos(zeta)) / (2 * zeta - np.sin(2 * zeta))
    return float(np.sum(c * np.exp(-(zeta**2) * fourier)))


def half_space_surface(h: float, k: float, alpha: float, seconds: float) -> float:
    """The same at the surface of a half-space with convection."""
    x = h * np.sqrt(alpha * seconds) / k
    return float(np.exp(x * x) * erfc(x))
