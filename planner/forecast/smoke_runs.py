"""The family of cooks behind a core forecast: unknowns in, temperatures out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.body import slab_of
from planner.forecast.chamber import WAYS, paths
from planner.piece import Piece
from planner.slab import Course, solve, time_steps
from planner.smoking import surroundings
from planner.sources import rules
from planner.unknowns import NAMES, Prior, as_factors

Floats = NDArray[np.float64]

#: After the planner's unknowns: probe, warm-up, drying before, two for what no run has (the lasting
#: error to come, and the rate), and the ways of the chamber.
DIMS = len(NAMES) + 5 + WAYS
PROBE, WARM_UP, DRIED, LATER, _RATE, _CHAMBER = range(len(NAMES), len(NAMES) + 6)

_DEEPEST_SHARE = 0.85
#: Between the cold and the mark, where properties are taken [degC].
_MEAN_C = 40.0


@dataclass(frozen=True)
class Told:
    """What is known of the cook: see :func:`planner.forecast.core.forecast_core`."""

    piece: Piece
    chamber: tuple[tuple[float, float], ...]
    start_c: float
    wps_pct: float
    aim_c: float
    humidity: float
    dried_kg_m2: float | None
    pressure: float
    prior: Prior


@dataclass(frozen=True)
class Runs:
    """The marched family: its course, and where each run's probe sits (0 open face, 1 back)."""

    course: Course
    probe_place: Floats

    def read_at(self, seconds: Floats) -> Floats:
        """What each run's probe would read at ``seconds``: (readings, runs) [degC]."""
        time = self.course.time_s
        after = np.clip(np.searchsorted(time, seconds), 1, len(time) - 1)
        share = ((seconds - time[after - 1]) / (time[after] - time[after - 1]))[:, None, None]
        modes = self.course.modes
        then = modes[after - 1] + share * (modes[after] - modes[after - 1])
        shape = np.cos(np.outer(self.probe_place, np.arange(modes.shape[-1])) * np.pi)
        return np.asarray(np.einsum("trm,rm->tr", then, shape))


def march(told: Told, z: Floats, until_s: float, seen_s: float, raise_k: float = 0.0) -> Runs:
    """All runs ``z`` (runs, DIMS) to ``until_s``; steps are shorter up to ``seen_s``.

    ``raise_k`` lifts the chamber after its last reading.
    """
    data = rules("heat")
    known = as_factors(told.prior.theta(z[:, : len(NAMES)]))
    times = _times(until_s, seen_s)
    chamber = paths(told.chamber, told.aim_c, times, z[:, WARM_UP], z[:, _CHAMBER:], raise_k)
    chamber_c = chamber + known["chamber"]
    slab = slab_of(
        told.piece,
        at_c=_MEAN_C,
        start_c=told.start_c,
        wps_pct=told.wps_pct,
        diffusivity=data["water_diffusivity"]["value"] * known["diffusivity"],
        thickness=known["thickness"],
        dried_kg_m2=_dried(told, z),
    )
    vapour = told.humidity * known["humidity"]
    around = surroundings(chamber_c, vapour, known["transfer"], told.pressure)
    course = solve(slab, times, around, heat_modes=6, water_modes=14)
    return Runs(course, probe_place(told.piece, z[:, PROBE]))


def probe_off_mm(piece: Piece, deviate: Floats) -> Floats:
    """How far each run's probe is from the middle; toward the skin is negative."""
    data = rules("heat")["forecast"]
    if piece.open_faces == 1:
        return np.asarray(data["probe_skin_mm"] + data["probe_skin_sd_mm"] * deviate)
    return np.asarray(data["probe_off_mm"] * data["probe_off_sd_factor"] ** deviate)


def probe_place(piece: Piece, deviate: Floats) -> Floats:
    """Place of each run's probe, 0 at the open face, 1 at the mid-plane or the skin."""
    depth_mm = piece.thickness_mm / piece.open_faces
    middle = 0.5 if piece.open_faces == 1 else 1.0
    most = _DEEPEST_SHARE * middle
    return np.asarray(middle - np.clip(probe_off_mm(piece, deviate) / depth_mm, -most, most))


def _dried(told: Told, z: Floats) -> Floats:
    data = rules("heat")["forecast"]
    usual = data["dried_kg_m2"] if told.dried_kg_m2 is None else told.dried_kg_m2
    depth = told.piece.thickness_mm * 1e-3 / told.piece.open_faces
    amount = usual * data["dried_sd_factor"] ** z[:, DRIED]
    return np.asarray(np.minimum(amount, 0.25 * 650.0 * depth))  # never more than a quarter of the water


def _times(until_s: float, seen_s: float) -> Floats:
    """Short steps over what was seen, longer ones after; their number does not grow with the cook."""
    past = time_steps(max(seen_s, 60.0), longest_s=max(480.0, seen_s / 40.0), first_s=60.0, growth=1.5)
    if until_s <= past[-1]:
        return past
    left = until_s - past[-1]
    ahead = time_steps(left, longest_s=max(2400.0, left / 20.0), first_s=min(300.0, left), growth=1.16)
    return np.concatenate([past, past[-1] + ahead[1:]])
