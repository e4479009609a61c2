"""How long each stage of a batch takes, from its sums: best guess and 80 % range, in hours."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from planner.body import open_area_m2_kg
from planner.cooling import time_to
from planner.cooling_rule import cooling_rule
from planner.drying import Pellicle, Tack, pellicle_time
from planner.hold import Mark
from planner.limits import limit
from planner.making import Making
from planner.piece import Piece
from planner.smoking import Chamber, Cook, cook, time_to_core, time_to_hold_end, usual_loss_pct
from planner.sources import rules
from planner.spread import Spread
from planner.thawing import thaw_time
from planner.unknowns import Prior
from planner.weather import Weather

#: A stage that the sums give no end to is laid out this long, and the plan says so.
NO_END_H = 12.0
#: Drying is reckoned no further than this.
LONGEST_DRY_H = 36.0
#: Home guidance reaches its core mark within 6 to 8 h (PNW 238, from a copy); beyond is said.
LONG_SMOKE_H = 8.0
#: Core on which the plan lets the fish go into the fridge.
_TO_FRIDGE_C = 30.0
#: Cold-smoking window of air-packed fish, hours (decision 17, from a copy of AFDO's practices).
_COLD_SMOKE = Spread(8.0, 12.0, 20.0)

# As far as the sums of heat reach [°C]: a reading beyond is judged by its own rule, not planned with.
_CHAMBER_C = (-20.0, 150.0)
_START_C = (-2.0, 60.0)
_ROOM_C = (-30.0, 45.0)


@dataclass(frozen=True)
class Lengths:
    """Hours of every stage that is still ahead; per lot where lots differ.

    ``cannot_dry`` is why the air will not dry the fish, ``never_hot`` names lots whose core does
    not reach the mark in that chamber. ``loss_pct`` is the water that dries off, percent of the
    brined weight; ``drip_pct`` the juice that runs out as the flesh sets.
    """

    thaw: Spread
    rinse: Spread
    dry: Spread
    smoke: dict[str, Spread]
    floor: dict[str, Spread]
    cool: dict[str, Spread]
    first_leg: dict[str, Spread]
    chill: Spread
    pack: Spread
    loss_pct: Spread
    drip_pct: Spread
    pellicle: Pellicle
    cannot_dry: str | None
    never_hot: tuple[str, ...]


def lengths(making: Making, wps_pct: float, aim: Mark, air: Weather | None = None) -> Lengths:
    """Hours of the stages of this batch.

    ``wps_pct`` is the water-phase salt at the end of the soak, ``air`` the weather over the racks
    where it changed.
    """
    known = making.known
    tack = Tack(known.tack.mean, known.tack.sd) if known.tack else None
    dried = pellicle(making.thickest, air or ((LONGEST_DRY_H, making.air),), round(wps_pct, 1), tack)
    smoke = {lot.name: _smoke(making, lot.name, wps_pct, aim, dried) for lot in making.lots}
    cool = {lot.name: _cool(making, lot.name, aim.core_c) for lot in making.lots}
    handling = rules("usual")["handling_min"]
    widest = max(smoke.values(), key=lambda s: s.hours.mid)
    return Lengths(
        thaw=_thaw(making),
        rinse=_about(handling["rinse"] / 60.0),
        dry=_finite(dried.hours, LONGEST_DRY_H),
        smoke={name: s.hours for name, s in smoke.items()},
        floor={name: s.floor for name, s in smoke.items()},
        cool={name: whole for name, (_, whole) in cool.items()},
        first_leg={name: leg for name, (leg, _) in cool.items()},
        chill=_chill(making),
        pack=_about(handling["pack"] / 60.0),
        loss_pct=_of_water(_sum(dried.loss_pct, widest.loss_pct).scaled(known.loss_factor), making.thickest),
        drip_pct=_drip(making).scaled(known.loss_factor),
        pellicle=dried,
        cannot_dry=dried.why,
        never_hot=tuple(name for name, s in smoke.items() if s.never),
    )


@lru_cache(maxsize=256)
def pellicle(piece: Piece, air: Weather, wps_pct: float, tack: Tack | None = None) -> Pellicle:
    """:func:`planner.drying.pellicle_time`, remembered for a plan that is computed again and again."""
    return pellicle_time(piece, air, wps_pct, tack=tack)


@dataclass(frozen=True)
class _Smoke:
    hours: Spread
    floor: Spread
    loss_pct: Spread
    never: bool


def _smoke(making: Making, lot: str, wps_pct: float, aim: Mark, dried: Pellicle) -> _Smoke:
    if making.cold_smoke:
        return _Smoke(_COLD_SMOKE, _COLD_SMOKE, Spread(4.0, 7.0, 10.0), False)
    chamber_c, start_c = _within(making.chamber_c, _CHAMBER_C), _within(making.air.air_c, _START_C)
    gone = dried.loss_pct.mid / 100.0 / open_area_m2_kg(making.thickest)
    cooked = blind_cook(
        making.pieces[lot],
        round(chamber_c, 1),
        round(start_c),
        round(wps_pct, 1),
        round(min(gone, 1.0), 2),
        making.known.smoke,
    )
    held = time_to_hold_end(cooked, aim.core_c, aim.hold_min)
    reached = time_to_core(cooked, 62.8)
    never = held is None or held.mid > NO_END_H
    hours = _finite(held)
    return _Smoke(hours, _finite(reached), usual_loss_pct(cooked, min(hours.mid, NO_END_H)), never)


@lru_cache(maxsize=128)
def blind_cook(
    piece: Piece, chamber_c: float, start_c: float, wps_pct: float, dried_kg_m2: float, prior: Prior | None = None
) -> Cook:
    """A cook in a steady chamber of which nothing was read yet; ``dried_kg_m2`` left each face before."""
    chamber = Chamber.steady(chamber_c)
    return cook(piece, chamber, start_c=start_c, wps_pct=wps_pct, dried_kg_m2=dried_kg_m2, prior=prior)


def _finite(hours: Spread | None, longest: float = NO_END_H * 1.5) -> Spread:
    if hours is None:
        return Spread(NO_END_H * 0.7, NO_END_H, longest)
    return Spread(min(hours.low, longest), min(hours.mid, longest), min(hours.high, longest))


def _cool(making: Making, lot: str, hot_c: float) -> tuple[Spread, Spread]:
    """First leg in the room's air, and the whole way down: in the fridge once it steams no more."""
    if making.cold_smoke:
        none = Spread(0.0, 0.0, 0.0)
        return none, _about(1.0)
    piece, room_c = making.pieces[lot], round(_within(making.air.air_c, _ROOM_C))
    rule = cooling_rule()
    room = time_to(piece, hot_c, _TO_FRIDGE_C, room_c, moving_air=making.air.fan) or _about(2.0)
    rest = time_to(piece, _TO_FRIDGE_C, rule.middle.c, making.fridge_c) or _about(1.0)
    cold = time_to(piece, _TO_FRIDGE_C, rule.end.c, making.fridge_c) or _about(6.0)
    return _sum(_finite(room), _finite(rest)), _sum(_finite(room), _finite(cold))


def _chill(making: Making) -> Spread:
    rule = cooling_rule()
    target = max(limit("fridge").c, making.fridge_c + 0.2)
    if target >= rule.end.c:
        return _about(2.0)
    # On the curve that the cooling has already: from the fridge's start down to either.
    cold = time_to(making.thickest, _TO_FRIDGE_C, rule.end.c, making.fridge_c)
    colder = time_to(making.thickest, _TO_FRIDGE_C, target, making.fridge_c)
    if cold is None or colder is None:
        return _about(2.0)
    return _about(max(colder.mid - cold.mid, 0.25))


def _thaw(making: Making) -> Spread:
    if not making.frozen:
        return Spread(0.0, 0.0, 0.0)
    return thaw_time(making.thickest, fridge_c=min(max(making.fridge_c, 0.0), 10.0))


def _of_water(loss_pct: Spread, piece: Piece) -> Spread:
    """No piece loses more than the water it has."""
    most = 100.0 * piece.composition.water
    return Spread(min(loss_pct.low, most), min(loss_pct.mid, most), min(loss_pct.high, most))


def _within(value: float, ends: tuple[float, float]) -> float:
    return min(max(value, ends[0]), ends[1])


def _drip(making: Making) -> Spread:
    if making.cold_smoke:
        return Spread(0.0, 0.0, 0.0)
    found = rules("usual")["cook_out"]
    return Spread(found["low_pct"], found["mid_pct"], found["high_pct"])


def _about(hours: float) -> Spread:
    return Spread(hours * 0.7, hours, hours * 1.5)


def _sum(a: Spread, b: Spread) -> Spread:
    """Sum of two independent spreads: the ends add in quadrature."""
    mid = a.mid + b.mid
    return Spread(
        mid - math.hypot(a.mid - a.low, b.mid - b.low),
        mid,
        mid + math.hypot(a.high - a.mid, b.high - b.mid),
    )
