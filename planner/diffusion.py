"""Diffusion into a slab from a stirred bath, and its evening out afterwards: the exact series.

A slab with both faces open has depth ``l`` = half its thickness; with one face sealed, ``l`` = its whole
thickness. ``fo`` is D t / l^2. ``x`` runs from 0 (middle, or sealed face) to 1 (open face). ``alpha`` is
the bath's water over the slab's (divided by the partition coefficient); infinity is a bath that never
weakens. All functions take arrays and broadcast.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.bell_curve import scaled_erfc
from planner.ranges import require_between

Array = NDArray[np.float64]

#: Below this the middle does not matter yet and the short-time form is exact to 1e-9.
_SHORT_FO = 0.05
_UPTAKE_TERMS = 12
_PROFILE_TERMS = 60


def uptake(fo: ArrayLike, alpha: ArrayLike = np.inf) -> Array:
    """Share of the final uptake that has gone in, 0 to 1; ``fo`` >= 0, ``alpha`` > 0.

    J. Crank, The Mathematics of Diffusion, 2nd ed., 1975, eq. 4.37 (limited bath) and 4.18
    (alpha infinite), with their short-time forms below fo = 0.05. Raises OutOfRange.
    """
    fo_, alpha_ = _checked(fo, alpha)
    out = np.where(fo_ < _SHORT_FO, _early(fo_, alpha_), 0.0)
    late = fo_ >= _SHORT_FO
    if late.any():
        out[late] = _late(fo_[late], alpha_[late])
    return out


def profile(x: ArrayLike, fo: ArrayLike, alpha: ArrayLike = np.inf) -> Array:
    """Local concentration over the final one at ``x``; ``fo`` >= 0.001 (earlier, only the face knows).

    J. Crank, The Mathematics of Diffusion, 2nd ed., 1975, eq. 4.36 (limited bath) and 4.17.
    With a limited bath the face starts above its final value. Raises OutOfRange.
    """
    fo_, alpha_ = _checked(fo, alpha)
    require_between("fo", float(fo_.min(initial=1.0)), 1e-3, 1e6, "-")
    require_between("x", float(np.min(x)), 0.0, 1.0, "-")
    require_between("x", float(np.max(x)), 0.0, 1.0, "-")
    q = _roots(alpha_, _PROFILE_TERMS)
    inverse = 1.0 / alpha_[..., None]
    # cos q = (-1)^n / sqrt(1 + alpha^2 q^2): the roots lie where the cosine is that, with its sign
    signs = (-1.0) ** np.arange(1, _PROFILE_TERMS + 1)
    over_cos = signs * np.sqrt(inverse**2 + q**2)
    weight = 2.0 * (1.0 + inverse) / (inverse**2 + inverse + q**2) * over_cos
    decay = np.exp(-(q**2) * fo_[..., None])
    waves = np.cos(q * np.asarray(x, dtype=float)[..., None])
    return np.asarray(1.0 + (weight * decay * waves).sum(axis=-1))


def dose_at_core(fo: ArrayLike) -> Array:
    """Concentration at ``x`` = 0 over the even one, after all of a dose was laid on the open face at once.

    J. Crank, The Mathematics of Diffusion, 2nd ed., 1975, ch. 2, plane source with reflection at both faces.
    """
    fo_ = np.maximum(np.asarray(fo, dtype=float), 1e-3)
    n = np.arange(1, 40)
    terms = (-1.0) ** n * np.exp(-((n * np.pi) ** 2) * fo_[..., None])
    return np.asarray(np.clip(1.0 + 2.0 * terms.sum(axis=-1), 0.0, 1.0))


def _checked(fo: ArrayLike, alpha: ArrayLike) -> tuple[Array, Array]:
    fo_, alpha_ = np.broadcast_arrays(np.asarray(fo, dtype=float), np.asarray(alpha, dtype=float))
    require_between("fo", float(np.min(fo_, initial=0.0)), 0.0, 1e9, "-")
    require_between("fo", float(np.max(fo_, initial=0.0)), 0.0, 1e9, "-")
    require_between("1 / alpha", float(np.max(1.0 / alpha_, initial=0.0)), 0.0, 1e4, "-")
    require_between("alpha", float(np.min(np.minimum(alpha_, 1.0), initial=1.0)), 1e-4, 1.0, "-")
    return np.atleast_1d(fo_), np.atleast_1d(alpha_)


def _early(fo: Array, alpha: Array) -> Array:
    """Both faces still behave as the face of a half space: 2 sqrt(fo / pi) where the bath is endless."""
    inverse = np.maximum(1.0 / alpha, 1e-8)
    root = np.sqrt(np.minimum(fo, _SHORT_FO))
    limited = (1.0 + 1.0 / inverse) * (1.0 - scaled_erfc(root * inverse))
    endless = 2.0 * root / np.sqrt(np.pi)
    return np.asarray(np.where(inverse > 1e-6, limited, endless))


def _late(fo: Array, alpha: Array) -> Array:
    q = _roots(alpha, _UPTAKE_TERMS)
    inverse = 1.0 / alpha[..., None]
    weight = 2.0 * (1.0 + inverse) / (inverse**2 + inverse + q**2)
    return np.asarray(1.0 - (weight * np.exp(-(q**2) * fo[..., None])).sum(axis=-1))


def _roots(alpha: Array, terms: int) -> Array:
    """Positive roots of tan q = -alpha q, one in each ((n - 1/2) pi, n pi).

    q = n pi - atan(alpha q) contracts by at most 1/pi a step, so 32 steps reach rounding.
    """
    n = np.arange(1, terms + 1)
    q: Array = (n - 0.5) * np.pi + np.zeros(alpha.shape)[..., None]
    for _ in range(32):
        q = np.asarray(n * np.pi - np.arctan(alpha[..., None] * q))
    return q
