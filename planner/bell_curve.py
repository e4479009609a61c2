"""Functions of the normal curve, on arrays.

scipy.special has them, and was all that the sums of an ordinary batch needed of scipy: it brings
tens of megabytes and a quarter of a second to every start, on machines that have little of either.
The tests hold these against it.
"""

from __future__ import annotations

import math
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Terms of the series: enough for the last digit of a float.
_TERMS = 40
_SCALE = math.sqrt(_TERMS / math.sqrt(2.0))


def normal_scores(shares: Floats) -> Floats:
    """The standard normal values below which ``shares`` (above 0, below 1) of all lie.

    M. J. Wichura, Algorithm AS 241, Applied Statistics 37 (1988), as Python's own statistics has it.
    """
    score = NormalDist().inv_cdf
    return np.array([score(share) for share in shares.flat]).reshape(shares.shape)


def normal_shares(scores: Floats) -> Floats:
    """The share of all that lies below each standard normal value: erfc(-x/√2)/2.

    M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), eq. 26.2.29 (from memory).
    """
    beyond = 0.5 * np.exp(-0.5 * scores**2) * scaled_erfc(np.abs(scores) / math.sqrt(2.0))
    return np.where(scores < 0.0, beyond, 1.0 - beyond)


def scaled_erfc(x: Floats) -> Floats:
    """exp(x²) erfc(x) for ``x`` >= 0, without overflow however large ``x`` is.

    J. A. C. Weideman, Computation of the complex error function, SIAM J. Numer. Anal. 31 (1994),
    eq. 38 on the imaginary axis, where every term is real.
    """
    whole = _SCALE + x
    series = np.polyval(_coefficients(), (_SCALE - x) / whole)
    return np.asarray(2.0 * series / whole**2 + 1.0 / math.sqrt(math.pi) / whole)


@cache
def _coefficients() -> Floats:
    """Of the series in (L + iz) / (L - iz), highest power first: a Fourier transform of its weight."""
    count = 2 * _TERMS
    angles = np.arange(1 - count, count) * np.pi / count
    t = _SCALE * np.tan(angles / 2.0)
    weight = np.concatenate([[0.0], np.exp(-(t**2)) * (_SCALE**2 + t**2)])
    return np.asarray(np.fft.fft(np.fft.fftshift(weight)).real[1 : _TERMS + 1][::-1] / (2 * count))
