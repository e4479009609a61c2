"""Diffusion into a bar of rectangular section from a stirred bath of limited volume.

A cut piece of fish takes up salt through its cut sides too. In the Laplace domain the bar in a bath
that weakens has a closed form; Talbot's contour brings it back. With ``aspect`` 0 it is the slab of
:mod:`planner.diffusion`.

``fo`` is D t / l^2 with ``l`` the depth below the open face; ``aspect`` is l over half the width;
``alpha`` is the bath's water over the fish's. All three are arrays that broadcast.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.ranges import require_between

Array = NDArray[np.float64]
_Complex = NDArray[np.complexfloating]

_NODES = 9
_MODES = 12
#: How many cosines describe the course from the deepest point to the face.
COSINES = 6


@dataclass(frozen=True, eq=False)
class Uptake:
    """Concentrations over the final one (which is the same everywhere).

    ``mean`` of the whole bar, ``core`` at the deepest point, ``face`` at the open face, ``line`` the mean
    from core to face, ``cosines[n - 1]`` the amplitude of cos(n pi x) along that line.
    """

    mean: Array
    core: Array
    face: Array
    line: Array
    cosines: Array


def in_bath(fo: ArrayLike, aspect: ArrayLike, alpha: ArrayLike) -> Uptake:
    """The bar after ``fo`` >= 0 in a bath with ``alpha`` (1e-4 to 1e6), ``aspect`` 0 to 20.

    The bath's balance is Crank's (The Mathematics of Diffusion, 2nd ed., 1975, section 4.3.5); the
    bar's own transform is the series over the depth with the width in closed form (H. S. Carslaw,
    J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., 1959, section 5.6); inversion by the fixed
    Talbot method (J. Abate, P. P. Valkó, Int. J. Numer. Methods Eng. 60, 2004). Good to about 1e-4.
    Raises OutOfRange.
    """
    fo_, aspect_, alpha_ = np.broadcast_arrays(*(np.asarray(a, dtype=float) for a in (fo, aspect, alpha)))
    _check(fo_, aspect_, alpha_)
    time = np.maximum(fo_, 1e-12)
    weights, nodes = _talbot()
    shape = (-1,) + (1,) * time.ndim
    s = nodes.reshape(shape) / time
    mean, core, line, cosines = _transforms(s, aspect_)
    bath = (1.0 + 1.0 / alpha_) / (s * (1.0 + mean / alpha_))

    weighted = weights.reshape(shape) * bath

    def back(transform: _Complex) -> Array:
        return np.asarray((weighted * transform).real.sum(axis=-1 - time.ndim) / time)

    return Uptake(
        mean=np.clip(back(mean), 0.0, 1.0),
        core=np.clip(back(core), 0.0, None),
        face=back(np.ones(1, dtype=complex)),
        line=back(line),
        cosines=back(cosines),
    )


def _check(fo: Array, aspect: Array, alpha: Array) -> None:
    for name, values, low, high in (
        ("fo", fo, 0.0, 1e6),
        ("aspect", aspect, 0.0, 20.0),
        ("alpha", alpha, 1e-4, 1e6),
    ):
        require_between(name, float(values.min()), low, high, "-")
        require_between(name, float(values.max()), low, high, "-")


def _transforms(s: _Complex, aspect: Array) -> tuple[_Complex, _Complex, _Complex, _Complex]:
    """Mean, core, line and cosines for a face held at one, per unit of it, s in units of D / l^2."""
    root = np.sqrt(s)
    tanh, core = _tanh_sech(root)
    mean = tanh / root
    line = mean
    j = np.arange(1, COSINES + 1).reshape((-1,) + (1,) * s.ndim)
    cosines = 2.0 * (-1.0) ** j * root * tanh / (s + (j * np.pi) ** 2)
    if aspect.any():
        side, through = _sides(s, aspect)
        mean = mean + through
        core = core + side.sum(axis=0)
        along = np.einsum("jn,n...->j...", _line_shares(), side)
        line = line + along[0]
        cosines = cosines + along[1:]
    return mean, core, line, cosines


def _sides(s: _Complex, aspect: Array) -> tuple[_Complex, _Complex]:
    """What comes in through the sides: by mode of the depth at mid-width, and its mean over all."""
    width = 1.0 / np.maximum(aspect, 1e-3)
    n = np.arange(_MODES).reshape((-1,) + (1,) * s.ndim)
    kappa = (n + 0.5) * np.pi
    slow = s / (s + kappa**2)
    reach = np.sqrt(s + kappa**2) * width
    tanh, sech = _tanh_sech(reach)
    return 2.0 * (-1.0) ** n / kappa * slow * sech, (2.0 / kappa**2 * slow * tanh / reach).sum(axis=0)


def _line_shares() -> Array:
    """Mean (row 0) and cosines (rows 1 to COSINES) of cos(kappa_n x) along the line, by column n."""
    n = np.arange(_MODES)
    kappa = (n + 0.5) * np.pi
    j = np.arange(COSINES + 1)[:, None]
    shares = 2.0 * (-1.0) ** (n + j) * kappa / (kappa**2 - (j * np.pi) ** 2)
    shares[0] /= 2.0
    return np.asarray(shares)


def _tanh_sech(z: _Complex) -> tuple[_Complex, _Complex]:
    """tanh and 1 / cosh for Re z >= 0, without overflow."""
    small = np.exp(-z)
    square = small * small
    below = 1.0 / (1.0 + square)
    return np.asarray((1.0 - square) * below), np.asarray(2.0 * small * below)


def _talbot() -> tuple[_Complex, _Complex]:
    """Weights and nodes: f(t) = sum Re(weight F(node / t)) / t."""
    k = np.arange(1, _NODES)
    theta = k * np.pi / _NODES
    cot = 1.0 / np.tan(theta)
    nodes = np.concatenate([[2.0 * _NODES / 5.0], 2.0 * k * np.pi / 5.0 * (cot + 1j)])
    inner = (1.0 + 1j * theta * (1.0 + cot**2) - 1j * cot) * np.exp(nodes[1:])
    weights = 0.4 * np.concatenate([[0.5 * np.exp(nodes[0])], inner])
    return np.asarray(weights), np.asarray(nodes)
