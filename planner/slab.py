"""Heat and water in a slab of fish, coupled at its surface; a whole family of runs at once.

Inside, heat and water diffuse (cosine modes, :mod:`planner.modes`); at the open face convection,
radiation and evaporation balance, solved by Newton's method at every step. Heat content, thickness
and conduction follow the water that has left. Water diffuses with the coefficient at the surface's
temperature, which is where its gradient is, over the first thickness, which is how published
coefficients were fitted. Salt stays with the solids.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields

import numpy as np
from numpy.typing import NDArray

from planner import air
from planner.convection import mass_transfer
from planner.modes import Basis, step_weights
from planner.sources import rules
from planner.water_activity import at_surface

Floats = NDArray[np.float64]

STEFAN_BOLTZMANN = 5.670e-8
GAS_CONSTANT = 8.314
WATER_CP = 4180.0
_WATER_RHO = 990.0
_WATER_CONDUCTS = 1.25  # times as well as the flesh it leaves
_VAPOUR_GAS_CONSTANT = 461.5
_NEWTON_STEPS = 8
_LONGEST_MOVE_K = 25.0
#: A last move of Newton's method this small leaves an error of its square.
_SMALL_MOVE_K = 0.1
_SMALL_SHARE = 0.02


@dataclass(frozen=True)
class Slab:
    """A family of slabs, one entry per run, per square metre of open face.

    ``depth_m`` runs from the open face to the mid-plane, or to the skin where ``skin`` is true (the
    skin takes heat and gives no water). ``solid_kg_m2`` is fat-free solids, ``rest_j_m2k`` the heat
    capacity of all but the water, ``water0`` and ``salt`` kg per kg of fat-free solids,
    ``diffusivity`` of water at 25 degC [m2/s]. ``dried_kg_m2`` of water has left already, evenly over a
    time that let it come from a share ``dried_depth`` of the depth (0.01..1). Where the piece is narrow,
    its middle gets ``edge_share`` as much heat through the edges as through the open face, once that has come through,
    in about ``edge_s`` [s].
    """

    depth_m: Floats
    conductivity: Floats
    solid_kg_m2: Floats
    rest_j_m2k: Floats
    water0: Floats
    salt: Floats
    start_c: Floats
    diffusivity: Floats
    dried_kg_m2: Floats = field(default_factory=lambda: np.zeros(1))
    dried_depth: Floats = field(default_factory=lambda: np.full(1, 0.2))
    edge_share: Floats = field(default_factory=lambda: np.zeros(1))
    edge_s: Floats = field(default_factory=lambda: np.ones(1))
    skin: bool = False

    def over(self, runs: int) -> Slab:
        """The same with every entry written out for ``runs`` runs."""
        whole = {f.name: np.broadcast_to(getattr(self, f.name), (runs,)) for f in fields(self)[:-1]}
        return Slab(**whole, skin=self.skin)


@dataclass(frozen=True)
class Surroundings:
    """The air over the steps: arrays (times, runs) or (times, 1).

    ``forced`` is the forced coefficient [W/m2K], ``natural`` that of natural convection at a
    difference of 1 K (grows with its fourth root), ``factor`` multiplies both (runs). ``wet`` holds
    the surface at its first water activity; ``evaporates`` false seals it.
    """

    air_c: Floats
    vapour_pa: Floats
    forced: Floats
    natural: Floats
    emissivity: Floats
    factor: Floats
    pressure: float = air.SEA_LEVEL_PA
    evaporates: bool = True
    wet: bool = False
    back_share: float = 1.0


@dataclass(frozen=True)
class Course:
    """What became of each run: arrays (times, runs).

    ``heat_j_m2`` is the net heat taken in, ``stored_j_m2`` the same from the temperatures: they
    agree where energy is kept; so do ``lost_kg_m2`` and ``left_kg_m2`` of water. ``modes`` (times,
    runs, modes) give any depth.
    """

    time_s: Floats
    surface_c: Floats
    core_c: Floats
    mean_c: Floats
    lost_kg_m2: Floats
    left_kg_m2: Floats
    surface_water: Floats
    heat_j_m2: Floats
    stored_j_m2: Floats
    modes: Floats
    dropped: Floats

    def at(self, place: float) -> Floats:
        """Temperature at ``place``, 0 at the open face, 1 at the mid-plane or skin [degC]."""
        basis = Basis(self.modes.shape[-1])
        return np.asarray(self.modes @ basis.shape(place) + self.dropped * basis.rest(place))


def time_steps(duration_s: float, longest_s: float = 180.0, first_s: float = 15.0, growth: float = 1.3) -> Floats:
    """Times from 0 to ``duration_s``: short steps first, where the surface is quick."""
    steps = [0.0]
    step = min(first_s, duration_s)
    while steps[-1] + step < duration_s * (1.0 - 1e-9):
        steps.append(steps[-1] + step)
        step = min(step * growth, longest_s)
    return np.array([*steps, duration_s])


def solve(slab: Slab, times: Floats, around: Surroundings, heat_modes: int = 12, water_modes: int = 32) -> Course:
    """March the family through ``times`` [s]. Second order in the step; see the module's words."""
    march = _March(slab, around, Basis(heat_modes), Basis(water_modes))
    for n in range(1, len(times)):
        march.step(n, float(times[n] - times[n - 1]))
    return march.course(times)


class _March:
    """The state of all runs at one moment, and the record of those before."""

    def __init__(self, slab: Slab, around: Surroundings, heat: Basis, water: Basis) -> None:
        runs = np.broadcast_shapes(slab.depth_m.shape, slab.start_c.shape, around.factor.shape, around.air_c.shape[1:])[
            0
        ]
        self.slab = slab.over(runs)
        self.around = around
        self.heat, self.water = heat, water
        self.a = np.zeros((runs, heat.count))
        self.a[:, 0] = self.slab.start_c
        self.b = self._water_profile()
        self.surface = np.array(self.slab.start_c, dtype=float)
        self.guess = self.surface_before = self.surface
        self.dry_face = self.water_before = self.water_guess = np.maximum(self.b.sum(1), 0.05)
        self.lost = np.zeros(runs)
        self.lost_rate = np.zeros(runs)
        self.heat_in = np.zeros(runs)
        self.stored = np.zeros(runs)
        self.last_step = self.seconds = 0.0
        self.activity0, _ = at_surface(np.maximum(self.slab.water0, 1e-6), self.slab.salt)
        energy = rules("heat")["water_diffusivity"]
        self.activation_k = energy["activation_kj_mol"] * 1e3 / GAS_CONSTANT
        self.reference_k = energy["at_c"] + air.KELVIN
        self.fit = air.saturation_fit()
        self._set_air(0)
        self.net, self.evaporating, _, _, _ = self._fluxes(self.surface, self.dry_face)
        self.back = self._back_conductance() * (self.air_c - self.surface) if slab.skin else np.zeros(runs)
        self.resistance = self.slab.depth_m / self.slab.conductivity
        self.record: list[tuple[Floats, ...]] = []
        self._note()

    def _water_profile(self) -> Floats:
        """Modes of the water at the start: even, less what a steady flux has taken from the face."""
        spent = np.outer(self.slab.dried_depth**2, self.water.decay)
        taken = (self.slab.dried_kg_m2 / self.slab.solid_kg_m2)[:, None] * self.water.forcing
        modes = -taken * -np.expm1(-spent) / np.maximum(spent, 1e-12)
        modes[:, 0] = self.slab.water0 - taken[:, 0]
        return np.asarray(modes)

    def _set_air(self, n: int) -> None:
        around = self.around
        self.air_c = around.air_c[n]
        natural = around.natural[n] * np.sqrt(np.sqrt(np.abs(self.air_c - self.guess)))
        self.h = around.factor * np.cbrt(around.forced[n] ** 3 + natural**3)
        kelvin = self.air_c + air.KELVIN
        self.vapour = around.vapour_pa[n] / (_VAPOUR_GAS_CONSTANT * kelvin)
        mass = mass_transfer(self.h, self.air_c, around.pressure)
        self.h_m = mass if around.evaporates else np.zeros_like(self.h)

    def _back_conductance(self) -> Floats:
        kelvin = 0.5 * (self.guess + self.air_c) + air.KELVIN
        radiant = 4.0 * self.around.emissivity * STEFAN_BOLTZMANN * kelvin**3
        return np.asarray(self.around.back_share * self.h + radiant)

    def _fluxes(self, surface: Floats, water: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Net heat in, evaporation, slope of the dry heat in, slopes of evaporation by T and by X."""
        kelvin = surface + air.KELVIN
        air_kelvin = self.air_c + air.KELVIN
        u = 1.0 / kelvin
        a, b, c, d = self.fit
        density = np.exp(a + u * (b + u * (c + u * d))) * u / _VAPOUR_GAS_CONSTANT
        density_slope = -density * u * (1.0 + u * (b + u * (2.0 * c + u * 3.0 * d)))
        if self.around.wet or not self.around.evaporates:
            activity, activity_slope = self.activity0, np.zeros_like(self.activity0)
        else:
            activity, activity_slope = at_surface(water, self.slab.salt)
        evaporating = self.h_m * (activity * density - self.vapour)
        radiant = self.around.emissivity * STEFAN_BOLTZMANN
        dry_heat = self.h * (self.air_c - surface) + radiant * (air_kelvin**4 - kelvin**4)
        net = dry_heat - air.latent_heat(surface) * evaporating
        dry_slope = self.h + 4.0 * radiant * kelvin**3
        by_t, by_x = self.h_m * activity * density_slope, self.h_m * density * activity_slope
        return net, evaporating, dry_slope, by_t, by_x

    def _geometry(self, lost: Floats) -> tuple[Floats, Floats]:
        """Conductance k/L and heat content per m2 when ``lost`` kg/m2 of water have left."""
        held = self.slab.water0 * self.slab.solid_kg_m2
        lost = np.minimum(lost + self.slab.dried_kg_m2, 0.97 * held)  # an always-wet run has no end
        gone = lost / _WATER_RHO
        depth = self.slab.depth_m - gone
        share = gone / self.slab.depth_m
        conductivity = self.slab.conductivity * (1.0 - _WATER_CONDUCTS * share) / (1.0 - share)
        return conductivity / depth, self.slab.rest_j_m2k + WATER_CP * (held - lost)

    def step(self, n: int, dt: float) -> None:
        """Advance all runs by ``dt`` to the ``n``-th time."""
        ahead = dt / self.last_step if self.last_step else 0.0
        self.seconds += 0.5 * dt
        self.guess = self.surface + ahead * (self.surface - self.surface_before)
        self.water_guess = np.maximum(self.dry_face + ahead * (self.dry_face - self.water_before), 0.3 * self.dry_face)
        middle = 0.5 * (self.surface + self.guess)
        conductance, content = self._geometry(self.lost + 0.5 * dt * self.evaporating)
        old = (self.net, self.evaporating, self.back)
        self._set_air(n)

        edges = self._edges()
        known, front, back = self._heat_terms(dt, conductance / content, dt / content, edges)
        c, g = known.sum(1), front.sum(1) + self.heat.rest(0.0) / conductance
        if self.slab.skin:
            sign, far = self.heat.sign, self.heat.rest(1.0) / conductance
            skin_h = self._back_conductance()
            share = skin_h / (1.0 + skin_h * (back.sum(1) + self.heat.rest(0.0) / conductance))
            behind, felt = known @ sign, front @ sign + far
            across = (back @ sign + far) * share
            c, g = c + across * (self.air_c - behind), g - across * felt
        y_left, y_old, y_new, c_y, g_y = self._water_terms(dt, middle)
        self._balance(c, g, c_y, g_y)
        if self.slab.skin:
            self.back = share * (self.air_c - behind - felt * self.net)
        self.a = known + front * self.net[:, None] + back * self.heat.sign * self.back[:, None]
        self.b = y_left * self.b - y_old * old[1][:, None] - y_new * self.evaporating[:, None]

        self.lost = self.lost + 0.5 * dt * (old[1] + self.evaporating)
        through = (1.0 + edges) * (old[0] + self.net) + old[2] + self.back
        self.heat_in = self.heat_in + 0.5 * dt * through
        self.stored = self.stored + content * (self.a[:, 0] - self.record[-1][5])
        self.resistance = 1.0 / conductance
        self.last_step = dt
        self.seconds += 0.5 * dt
        self._note()

    def _edges(self) -> Floats:
        """Heat that comes to the middle through the edges, as a share of that through the open face."""
        return np.asarray(self.slab.edge_share * -np.expm1(-self.seconds / self.slab.edge_s))

    def _heat_terms(self, dt: float, rate: Floats, unit: Floats, edges: Floats) -> tuple[Floats, ...]:
        """What the modes will be but for the new fluxes, and what a unit of those gives to each mode."""
        left, w_old, w_new = step_weights(np.outer(dt * rate, self.heat.decay))
        forcing = self.heat.forcing * unit[:, None]
        old, back = forcing * w_old, forcing * w_new
        front = back.copy()
        front[:, 0] *= 1.0 + edges
        known = left * self.a + old * (self.net[:, None] + np.outer(self.back, self.heat.sign))
        known[:, 0] += old[:, 0] * edges * self.net
        return known, front, back

    def _water_terms(self, dt: float, middle: Floats) -> tuple[Floats, ...]:
        """Mode factors of the water, and the surface water as c - g N."""
        if self.around.wet or not self.around.evaporates:
            unit = np.zeros_like(self.b)
            unit[:, 0] = dt / self.slab.solid_kg_m2
            zero = np.zeros_like(self.dry_face)
            return np.ones_like(self.b), 0.5 * unit, 0.5 * unit, self.slab.water0, zero
        warm = 1.0 / self.reference_k - 1.0 / (middle + air.KELVIN)
        rate = self.slab.diffusivity * np.exp(self.activation_k * warm) / self.slab.depth_m**2
        left, w_old, w_new = step_weights(np.outer(dt * rate, self.water.decay))
        unit = self.water.forcing * (dt / self.slab.solid_kg_m2)[:, None]
        y_old, y_new = unit * w_old, unit * w_new
        known = (left * self.b).sum(1) - y_old.sum(1) * self.evaporating
        rest = self.water.rest(0.0) / (self.slab.solid_kg_m2 * rate)
        return left, y_old, y_new, known, y_new.sum(1) + rest

    def _balance(self, c: Floats, g: Floats, c_y: Floats, g_y: Floats) -> None:
        """Newton's method for the temperature and water of the open face, from their extrapolation.

        After the last, small move the fluxes follow by their slopes, which keeps heat and water exactly.
        """
        surface, water = self.guess, self.water_guess
        self.surface_before, self.water_before = self.surface, self.dry_face
        for n in range(_NEWTON_STEPS):
            net, evaporating, dry_slope, by_t, by_x = self._fluxes(surface, water)
            latent = air.latent_heat(surface)
            f1, f2 = surface - c - g * net, water - c_y + g_y * evaporating
            slope_t, slope_x = dry_slope + latent * by_t, latent * by_x
            j11, j12 = 1.0 + g * slope_t, g * slope_x
            j21, j22 = g_y * by_t, 1.0 + g_y * by_x
            det = j11 * j22 - j12 * j21
            warmer, wetter = (f2 * j12 - f1 * j22) / det, (f1 * j21 - f2 * j11) / det
            small = np.abs(warmer).max() < _SMALL_MOVE_K and (np.abs(wetter) < _SMALL_SHARE * water).all()
            if small or n == _NEWTON_STEPS - 1:
                break
            surface = surface + np.minimum(np.maximum(warmer, -_LONGEST_MOVE_K), _LONGEST_MOVE_K)
            water = np.maximum(water + wetter, 0.3 * water)
        self.surface = surface + warmer
        self.dry_face = np.maximum(water + wetter, 0.1 * water)
        self.net = net - slope_t * warmer - slope_x * wetter
        self.evaporating = evaporating + by_t * warmer + by_x * wetter

    def _note(self) -> None:
        dropped = (self.net * self.resistance) if self.record else np.zeros_like(self.net)
        self.record.append(
            (
                self.surface,
                self.dry_face,
                self.lost,
                self.b[:, 0] * self.slab.solid_kg_m2,
                self.heat_in,
                self.a[:, 0],
                self.stored,
                self.a,
                dropped,
            )
        )

    def course(self, times: Floats) -> Course:
        """The record as arrays."""
        surface, water, lost, left, heat, mean, stored, modes, dropped = (
            np.array(x) for x in zip(*self.record, strict=True)
        )
        place = 0.5 if self.slab.skin else 1.0
        core = modes @ self.heat.shape(place) + dropped * self.heat.rest(place)
        return Course(times, surface, core, mean, lost, left, water, heat, stored, modes, dropped)
