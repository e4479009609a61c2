"""A richer fish than the planner's: a cross-section in two dimensions, with local properties.

Heat and water move across thickness and width; water diffuses with the local temperature's
coefficient; every open cell evaporates for itself. Finite volumes, locally one-dimensional implicit
steps. Used to make truths for the forecaster to be judged by; shares no solver with it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from planner.air import saturation_pa
from planner.piece import Composition
from planner.properties import thermal
from planner.water_activity import at_surface

SIGMA = 5.670e-8
#: Cells at an open face are 0.03 to 0.1 mm: what dries there first is thinner than a millimetre.
CELLS_ACROSS, CELLS_ALONG = 25, 17
STEP_S = 12.0


@dataclass(frozen=True)
class Fish:
    """Truth of many pieces: arrays (pieces,). ``skin`` seals the lower face of all of them to water."""

    composition: Composition
    thickness_m: np.ndarray
    width_m: np.ndarray
    start_c: np.ndarray
    wps_pct: np.ndarray
    diffusivity: np.ndarray
    forced: np.ndarray
    natural: np.ndarray
    humidity_pa: np.ndarray
    emissivity: np.ndarray
    dried: np.ndarray
    skin: bool = False


@dataclass(frozen=True)
class Truth:
    """What happened: (times,), (times, pieces), and the temperatures across the middle.

    ``across_c`` is (times, pieces, cells) at depths ``across_m`` (pieces, cells); ``middle_m`` is the
    depth of the core, ``loss`` the share of the mass that has evaporated.
    """

    time_s: np.ndarray
    core_c: np.ndarray
    across_c: np.ndarray
    across_m: np.ndarray
    loss: np.ndarray
    middle_m: np.ndarray

    def probe(self, piece: int, off_m: float) -> np.ndarray:
        """Temperature ``off_m`` from the middle toward the open face."""
        place, depths = self.middle_m[piece] - off_m, self.across_m[piece]
        return np.array([np.interp(place, depths, row) for row in self.across_c[:, piece]])


def _widths(count: int, growth: float) -> np.ndarray:
    width = growth ** np.arange(count)
    return width / width.sum()


def _tridiagonal(below: np.ndarray, middle: np.ndarray, above: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Solve along the last axis (Thomas)."""
    n = right.shape[-1]
    c, d = np.empty_like(right), np.empty_like(right)
    c[..., 0] = above[..., 0] / middle[..., 0]
    d[..., 0] = right[..., 0] / middle[..., 0]
    for i in range(1, n):
        pivot = middle[..., i] - below[..., i] * c[..., i - 1]
        c[..., i] = above[..., i] / pivot
        d[..., i] = (right[..., i] - below[..., i] * d[..., i - 1]) / pivot
    for i in range(n - 2, -1, -1):
        d[..., i] -= c[..., i] * d[..., i + 1]
    return d


def _diffuse(
    u: np.ndarray, width: np.ndarray, conductance: np.ndarray, capacity: np.ndarray, face: np.ndarray, slope: np.ndarray
) -> np.ndarray:
    """One implicit step along the last axis; ``face`` flux into the first cell, ``slope`` its fall with u."""
    below, above = np.zeros_like(u), np.zeros_like(u)
    below[..., 1:] = -conductance
    above[..., :-1] = -conductance
    stored = capacity * width
    middle = stored - below - above
    right = stored * u
    middle[..., 0] += slope
    right[..., 0] += face + slope * u[..., 0]
    return _tridiagonal(below, middle, above, right)


def simulate(fish: Fish, chamber: Callable[[float], np.ndarray], hours: float, keep_every: int = 5) -> Truth:
    """March all pieces for ``hours``; ``chamber`` gives the air at each [degC]."""
    flesh = thermal(fish.composition, 40.0)
    mix = fish.composition
    solids = mix.protein + mix.ash + mix.carbohydrate
    n = len(fish.thickness_m)
    depth = fish.thickness_m if fish.skin else fish.thickness_m / 2
    dx = depth[:, None] * _widths(CELLS_ACROSS, 1.28)
    dy = fish.width_m[:, None] / 2 * _widths(CELLS_ALONG, 1.35)
    water0 = mix.water / solids
    salt = (water0 * fish.wps_pct / (100 - fish.wps_pct))[:, None]
    rho_s = flesh.rho * solids
    t = np.repeat(fish.start_c, CELLS_ACROSS * CELLS_ALONG).reshape(n, CELLS_ALONG, CELLS_ACROSS)
    x = np.full_like(t, water0)
    centres = np.cumsum(dx, axis=1) - dx / 2
    # Drying before the smoke, at 0.12 kg/m2h and 12 degC, leaves less water near the open face.
    reach = 0.885 * np.sqrt(fish.diffusivity * 0.57 * np.maximum(fish.dried, 1e-3) / 0.12 * 3600)
    layer = np.exp(-centres / reach[:, None])
    taken = fish.dried[:, None] / rho_s / (layer * dx).sum(axis=1, keepdims=True)
    x = np.maximum(x - (taken * layer)[:, None, :], 0.2 * water0)
    x_start = x.copy()
    gap_x, gap_y = (dx[:, 1:] + dx[:, :-1]) / 2, (dy[:, 1:] + dy[:, :-1]) / 2
    cp_rest = flesh.rho * (flesh.cp - 4180.0 * mix.water)
    times, cores, rows, losses = [], [], [], []
    middle = depth / 2 if fish.skin else depth
    steps = round(hours * 3600 / STEP_S)
    area = dx[:, None, :] * dy[:, :, None]
    for step in range(steps + 1):
        if step % keep_every == 0:
            times.append(step * STEP_S)
            rows.append(t[:, -1, :].copy())
            inner = [np.interp(middle[i], centres[i], t[i, -1, :]) for i in range(n)]
            cores.append(inner)
            losses.append(((x_start - x) * area).sum((1, 2)) * rho_s / (area.sum((1, 2)) * flesh.rho))
        air_c = chamber(step * STEP_S)[:, None]
        capacity = cp_rest + 4180.0 * rho_s * x
        d = fish.diffusivity[:, None, None] * np.exp(30e3 / 8.314 * (1 / 298.15 - 1 / (t + 273.15)))

        top = _faces(fish, t[:, :, 0], x[:, :, 0], air_c, salt)
        bottom = _dry_face(fish, t[:, :, -1], air_c) if fish.skin else None
        k_x = STEP_S * flesh.k / gap_x[:, None, :]
        t_before = t
        if bottom is not None:  # skin side: heat only, explicit (its cells are wide)
            t = t.copy()
            t[:, :, -1] += STEP_S * bottom / (capacity[:, :, -1] * dx[:, None, -1])
        t = _diffuse(t, dx[:, None, :], k_x, capacity, STEP_S * top[0], STEP_S * top[1])
        wet_x = STEP_S * rho_s * (d[:, :, 1:] + d[:, :, :-1]) / 2 / gap_x[:, None, :]
        x = _diffuse(x, dx[:, None, :], wet_x, np.full_like(x, rho_s), -STEP_S * top[2], STEP_S * top[3])

        side = _faces(fish, t_before[:, 0, :], x[:, 0, :], air_c, salt)
        tt, xx = t.swapaxes(1, 2), x.swapaxes(1, 2)
        k_y = STEP_S * flesh.k / gap_y[:, None, :]
        tt = _diffuse(tt, dy[:, None, :], k_y, capacity.swapaxes(1, 2), STEP_S * side[0], STEP_S * side[1])
        dd = d.swapaxes(1, 2)
        wet_y = STEP_S * rho_s * (dd[:, :, 1:] + dd[:, :, :-1]) / 2 / gap_y[:, None, :]
        xx = _diffuse(xx, dy[:, None, :], wet_y, np.full_like(xx, rho_s), -STEP_S * side[2], STEP_S * side[3])
        t, x = tt.swapaxes(1, 2), np.maximum(xx.swapaxes(1, 2), 0.01)
    return Truth(np.array(times), np.array(cores), np.array(rows), centres, np.array(losses), middle)


def _transfer(fish: Fish, surface: np.ndarray, air_c: np.ndarray) -> np.ndarray:
    natural = fish.natural[:, None] * np.abs(air_c - surface) ** 0.25
    return np.cbrt(fish.forced[:, None] ** 3 + natural**3)


def _dry_face(fish: Fish, surface: np.ndarray, air_c: np.ndarray) -> np.ndarray:
    radiant = fish.emissivity[:, None] * SIGMA * ((air_c + 273.15) ** 4 - (surface + 273.15) ** 4)
    return _transfer(fish, surface, air_c) * (air_c - surface) + radiant


def _faces(fish: Fish, t: np.ndarray, x: np.ndarray, air_c: np.ndarray, salt: np.ndarray):
    """Heat into the cells at an open face and its fall with T; water out and its rise with X."""
    h = _transfer(fish, t, air_c)
    h_m = h / (101325 / (287.05 * (air_c + 273.15)) * 1006 * 0.87 ** (2 / 3))
    kelvin = t + 273.15
    activity, slope = at_surface(x, np.broadcast_to(salt, x.shape))
    density = saturation_pa(t) / (461.5 * kelvin)
    out = h_m * (activity * density - fish.humidity_pa[:, None] / (461.5 * (air_c + 273.15)))
    latent = 2.5009e6 - 2390 * t
    heat = _dry_face(fish, t, air_c) - latent * out
    by_t = h + 4 * fish.emissivity[:, None] * SIGMA * kelvin**3
    by_t = by_t + latent**2 * h_m * activity * density / (461.5 * kelvin**2)
    return heat, by_t, out, h_m * density * slope
