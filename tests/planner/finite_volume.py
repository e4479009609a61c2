"""The slab's equations once more, by another method: finite volumes and scipy's BDF.

Cells narrow toward the open face. The same physics as :mod:`planner.slab` (heat content, depth and
conduction follow the water lost; water diffuses with the coefficient at the surface's temperature),
none of its code: written to be checked against, and raced against in the benchmark.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp
from scipy.linalg import block_diag

from planner import air
from planner.slab import Slab, Surroundings
from planner.water_activity import at_surface

SIGMA = 5.670e-8


class FiniteVolumes:
    """One run of ``slab`` (arrays of one) in constant ``around``; two open faces only."""

    def __init__(self, slab: Slab, around: Surroundings, cells: int = 60, stretch: float = 1.08) -> None:
        width = stretch ** np.arange(cells)
        self.width = width / width.sum()
        self.slab = {k: float(v[0]) for k, v in vars(slab).items() if k != "skin"}
        self.air_c, self.vapour = float(around.air_c[0, 0]), float(around.vapour_pa[0, 0])
        self.forced, self.natural = float(around.forced[0, 0]), float(around.natural[0, 0])
        self.emissivity, self.around = float(around.emissivity[0]), around
        self.cells = cells
        self.gap = 0.5 * (self.width[1:] + self.width[:-1])
        self.guess = (self.slab["start_c"], self.slab["water0"])

    def start(self) -> np.ndarray:
        n = self.cells
        return np.r_[np.full(n, self.slab["start_c"]), np.full(n, self.slab["water0"])]

    def surface(self, first_c: float, first_x: float, conductance: float, mass_conductance: float):
        """Balance of the face with half a cell behind it: temperature, water, heat in, water out."""
        t, x = self.guess
        air_k = self.air_c + 273.15
        gas = self.vapour / (461.5 * air_k)
        for _ in range(60):
            h = np.cbrt(self.forced**3 + (self.natural * abs(self.air_c - t) ** 0.25) ** 3)
            h_m = h * 287.05 * air_k / (self.around.pressure * 1006.0 * 0.87 ** (2 / 3))
            activity, slope = (float(v[0]) for v in at_surface(np.array([x]), np.array([self.slab["salt"]])))
            kelvin = t + 273.15
            density = float(air.saturation_pa(t)) / (461.5 * kelvin)
            latent = 2.5009e6 - 2390.0 * t
            out = h_m * (activity * density - gas)
            heat = h * (self.air_c - t) + self.emissivity * SIGMA * (air_k**4 - kelvin**4) - latent * out
            f = np.array([conductance * (t - first_c) - heat, mass_conductance * (first_x - x) - out])
            by_t = h_m * activity * density * (latent / (461.5 * kelvin**2))
            dry = h + 4 * self.emissivity * SIGMA * kelvin**3
            jac = np.array(
                [
                    [conductance + dry + latent * by_t, latent * h_m * density * slope],
                    [-by_t, -mass_conductance - h_m * density * slope],
                ]
            )
            move = np.linalg.solve(jac, f)
            t, x = t - move[0], max(x - move[1], 0.3 * x)
            if abs(move[0]) < 1e-9 and abs(move[1]) < 1e-9:
                break
        self.guess = (t, x)
        return t, x, heat, out

    def rates(self, _time: float, state: np.ndarray) -> np.ndarray:
        n, s = self.cells, self.slab
        t, x = state[:n], state[n:]
        water = s["solid_kg_m2"] * float(x @ self.width)
        gone = (s["water0"] * s["solid_kg_m2"] - water) / 990.0
        depth = s["depth_m"] - gone
        dried = (1 - 1.25 * gone / s["depth_m"]) / (1 - gone / s["depth_m"])
        k_by_depth = s["conductivity"] * dried / depth
        content = s["rest_j_m2k"] + 4180.0 * water
        # The face first with the last diffusivity, then once more with its own temperature's.
        for _ in range(3):
            warm = 1 / 298.15 - 1 / (self.guess[0] + 273.15)
            d = s["diffusivity"] * np.exp(30e3 / 8.314 * warm)
            mass = s["solid_kg_m2"] * d / s["depth_m"] ** 2
            _, _, heat, out = self.surface(t[0], x[0], k_by_depth / (0.5 * self.width[0]), mass / (0.5 * self.width[0]))
        heat_flow = np.r_[heat, -k_by_depth * np.diff(t) / self.gap, 0.0]
        water_flow = np.r_[-out, -mass * np.diff(x) / self.gap, 0.0]
        rate_t = -np.diff(heat_flow) / (self.width * content)
        rate_x = -np.diff(water_flow) / (self.width * s["solid_kg_m2"])
        return np.r_[rate_t, rate_x]

    def solve(self, times: np.ndarray, rtol: float = 1e-6, sparse: bool = True):
        """Temperatures (times, cells), water lost [kg/m2] and core [degC] at ``times``."""
        n = self.cells
        band = np.abs(np.subtract.outer(np.arange(n), np.arange(n))) <= 1
        sparsity = block_diag(band, band).astype(float)
        sparsity[:, [0, n]] = 1.0  # the face's balance, felt by all through the diffusivity
        found = solve_ivp(
            self.rates, (0.0, times[-1]), self.start(), "BDF",
            times, rtol=rtol, atol=1e-4, jac_sparsity=sparsity if sparse else None,
        )  # fmt: skip
        t, x = found.y[:n].T, found.y[n:].T
        lost = self.slab["solid_kg_m2"] * (self.slab["water0"] - x @ self.width)
        core = t[:, -1] + (t[:, -1] - t[:, -2]) / self.gap[-1] * self.width[-1] / 4
        return core, lost
