"""Simulated cooks with readings as people send them, to judge the forecaster by.

The fish is the richer one of :mod:`tests.simulated.fish`. The chamber warms up, cycles, sags and is
opened; the rack is not where the chamber's thermometer is; the probe is 3 to 6 mm off the middle;
readings are irregular, noisy and rounded to 1 degF or 1 degC. All invented, all from a seed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner import air, convection
from planner.piece import Piece
from tests.planner.given import SALMON
from tests.simulated.fish import Fish, Truth, simulate

HOURS = 9.0


@dataclass(frozen=True)
class Told:
    """One simulated cook as the tool hears of it, and the truth."""

    piece: Piece
    wps_pct: float
    core: tuple[tuple[float, float], ...]
    chamber: tuple[tuple[float, float], ...]
    time_s: np.ndarray
    core_c: np.ndarray

    def reaches_s(self, mark_c: float) -> float:
        """True moment the core first reaches ``mark_c``; inf where it does not within the run."""
        above = np.flatnonzero(self.core_c >= mark_c)
        return float(self.time_s[above[0]]) if len(above) else float("inf")


@dataclass(frozen=True)
class _Chambers:
    """Chamber temperature over time, per cook."""

    aim: np.ndarray
    first: np.ndarray
    warm_s: np.ndarray
    cycle_k: np.ndarray
    cycle_s: np.ndarray
    phase: np.ndarray
    sag_k: np.ndarray
    refuel_s: np.ndarray
    doors: tuple[np.ndarray, ...]
    door_share: np.ndarray

    def at(self, s: float) -> np.ndarray:
        chamber = self.aim - (self.aim - self.first) * np.exp(-s / self.warm_s)
        chamber = chamber + self.cycle_k * np.sin(2 * np.pi * s / self.cycle_s + self.phase)
        chamber = chamber - self.sag_k * ((s % self.refuel_s) / self.refuel_s)
        for i, doors in enumerate(self.doors):
            since = s - doors[doors <= s]
            chamber[i] -= (self.door_share[i] * (chamber[i] - 15) * np.exp(-since / 240)).sum()
        return np.maximum(chamber, 15.0)


@dataclass(frozen=True)
class Smokers:
    """What a smoker keeps from cook to cook: draught [m/s], water in its air [kg/kg], rack against thermometer [K]."""

    wind: np.ndarray
    moist: np.ndarray
    rack_k: np.ndarray


def cooks(
    count: int, seed: int, skin: bool = False, hours: float = HOURS, smokers: Smokers | None = None
) -> list[Told]:
    """``count`` cooks of salmon, ``hours`` long, each in its own smoker unless told; the same for the same seed."""
    rng = np.random.default_rng(seed)

    def factor(sd_factor: float) -> np.ndarray:
        return np.exp(rng.normal(0, np.log(sd_factor), count))

    thickness_mm, width_m = rng.uniform(16, 40, count), rng.uniform(0.05, 0.14, count)
    chambers = _Chambers(
        aim=rng.uniform(80, 95, count),
        first=rng.uniform(30, 70, count),
        warm_s=rng.uniform(400, 1500, count),
        cycle_k=rng.uniform(0, 5, count),
        cycle_s=rng.uniform(600, 1500, count),
        phase=rng.uniform(0, 6.3, count),
        sag_k=rng.uniform(0, 10, count),
        refuel_s=rng.uniform(3600, 7200, count),
        doors=tuple(rng.uniform(1200, 4 * 3600, rng.integers(0, 4)) for _ in range(count)),
        door_share=rng.uniform(0.25, 0.6, count),
    )
    rack_k = rng.normal(0, 3, count)
    wps = rng.uniform(1.5, 4.5, count)
    wind = 0.3 * factor(1.6)
    if smokers:
        rack_k, wind = smokers.rack_k, smokers.wind
    truth = simulate(
        Fish(
            composition=SALMON,
            thickness_m=thickness_mm * factor(1.07) * 1e-3,
            width_m=width_m,
            start_c=rng.uniform(7, 17, count),
            wps_pct=wps,
            diffusivity=1e-10 * factor(1.4),
            forced=convection.laminar_plate(wind, 80.0),
            natural=float(convection.natural_plate(1.0, 80.0)) * factor(1.2),
            humidity_pa=air.vapour_pa((smokers.moist if smokers else 0.030) * factor(1.1 if smokers else 1.35)),
            emissivity=rng.uniform(0.82, 0.97, count),
            dried=rng.uniform(0.0, 0.25, count),
            skin=skin,
        ),
        lambda s: chambers.at(s) + rack_k,
        hours,
    )
    sizes = zip(thickness_mm, width_m, strict=True)
    return [_told(truth, i, chambers, size, wps[i], skin, rng) for i, size in enumerate(sizes)]


def _told(
    truth: Truth,
    i: int,
    chambers: _Chambers,
    size: tuple[float, float],
    wps: float,
    skin: bool,
    rng: np.random.Generator,
) -> Told:
    thickness_mm, width_m = size
    off_m = rng.uniform(3e-3, 6e-3) * (1 if rng.random() < 0.75 or not skin else -1)
    off_m = min(off_m, 0.6 * truth.middle_m[i])
    probe = truth.probe(i, off_m)
    fahrenheit = rng.random() < 0.5
    moments = np.cumsum(rng.uniform(900, 2700, 14)) + rng.uniform(0, 1200)
    moments = moments[moments < truth.time_s[-1]]
    core = tuple((s, _read(np.interp(s, truth.time_s, probe), rng, fahrenheit)) for s in moments)
    told = np.r_[rng.uniform(0, 600), moments[rng.random(len(moments)) < 0.8]]
    chamber = tuple((s, _read(chambers.at(s)[i], rng, fahrenheit, 1.0)) for s in told)
    width_mm = round(float(width_m) * 1e3 * float(np.exp(rng.normal(0, 0.2))))
    piece = Piece(SALMON, round(float(thickness_mm)), 1 if skin else 2, width_mm)
    return Told(piece, float(wps), core, chamber, truth.time_s, truth.core_c[:, i])


def _read(true_c: float, rng: np.random.Generator, fahrenheit: bool, noise_k: float = 0.4) -> float:
    read = float(true_c) + rng.normal(0, noise_k)
    return (round(read * 1.8 + 32) - 32) / 1.8 if fahrenheit else float(round(read))
