"""Thermal properties of fish from its composition (Choi and Okos 1986)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from planner.piece import Composition
from planner.ranges import require_between
from planner.sources import table

COMPONENTS = ("water", "protein", "fat", "ash", "carbohydrate")


@cache
def _coefficients() -> dict[tuple[str, str], tuple[float, float, float]]:
    rows = table("choi_okos")
    return {(r["property"], r["component"]): (float(r["a"]), float(r["b"]), float(r["c"])) for r in rows}


def component(name: str, which: str, at_c: float) -> float:
    """Property ``name`` (``k`` W/mK, ``rho`` kg/m3, ``cp`` J/kgK) of one component at -40..150 degC.

    Y. Choi, M. R. Okos (1986), pp. 93-101; ``which`` is one of COMPONENTS or ``ice``.
    """
    require_between("at_c", at_c, -40.0, 150.0, "degC")
    a, b, c = _coefficients()[(name, which)]
    return a + b * at_c + c * at_c * at_c


@dataclass(frozen=True)
class Thermal:
    """Conductivity [W/mK], density [kg/m3] and specific heat [J/kgK] of flesh."""

    k: float
    rho: float
    cp: float

    @property
    def alpha(self) -> float:
        """Thermal diffusivity [m2/s]."""
        return self.k / (self.rho * self.cp)


@lru_cache(maxsize=512)
def thermal(composition: Composition, at_c: float) -> Thermal:
    """Properties of unfrozen flesh at ``at_c``: heat by mass, volume by mass, conduction by volume."""
    return mixture({c: getattr(composition, c) for c in COMPONENTS}, at_c)


def mixture(parts: dict[str, float], at_c: float) -> Thermal:
    """Properties of a mixture given by mass fractions of components (``ice`` allowed)."""
    total = sum(parts.values())
    volume = {name: x / total / component("rho", name, at_c) for name, x in parts.items() if x > 0.0}
    whole = sum(volume.values())
    k = sum(v / whole * component("k", name, at_c) for name, v in volume.items())
    cp = sum(parts[name] / total * component("cp", name, at_c) for name in volume)
    return Thermal(k=k, rho=1.0 / whole, cp=cp)
