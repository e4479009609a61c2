"""What a soak will give, whether that is short of an aim, and what would change it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from planner.brine import Brine, recipe_for
from planner.piece import Piece
from planner.salted import Packed, wps_after_loss, wps_before_loss
from planner.soak import soak, strength_for, time_to_wps
from planner.spread import Spread

_THINNEST_MM = 6.0


class Change(StrEnum):
    """Something a person can do differently."""

    THINNER = "thinner"  #: value: thickness in mm
    SKIN_OFF = "skin_off"  #: value: open faces
    STRONGER = "stronger"  #: value: percent salt of the brine's mass
    LONGER = "longer"  #: value: hours in the brine


@dataclass(frozen=True)
class Lever:
    """One change, how far, and the WPS at pack that it alone would give."""

    change: Change
    value: float
    packed: Packed


@dataclass(frozen=True)
class Soaking:
    """A soak as it is meant to be done."""

    piece: Piece
    brine: Brine
    fish_mass_g: float
    hours: float
    temp_c: float
    thawed: bool = False


@dataclass(frozen=True)
class Outlook:
    """WPS at pack against an aim; ``mean_short`` and ``core_short`` by the low end, as safety asks."""

    packed: Packed
    aim_wps_pct: float
    levers: tuple[Lever, ...]

    @property
    def mean_short(self) -> bool:
        """True unless the mean is at the aim even at its low end."""
        return self.packed.mean.low < self.aim_wps_pct

    @property
    def core_short(self) -> bool:
        """True unless the deepest point is at the aim even at its low end."""
        return self.packed.core.low < self.aim_wps_pct


def outlook(soaking: Soaking, loss_pct: Spread, aim_wps_pct: float) -> Outlook:
    """The WPS at pack of this soak after a loss of ``loss_pct`` of the salted weight, and the levers on it.

    ``STRONGER`` and ``LONGER`` are worked out so that the best guess of the mean just meets the aim, and
    left out where nothing would. Raises OutOfRange as :func:`planner.soak.soak` does.
    """
    return Outlook(_packed(soaking, loss_pct), aim_wps_pct, tuple(_levers(soaking, loss_pct, aim_wps_pct)))


def _packed(soaking: Soaking, loss_pct: Spread) -> Packed:
    salted = soak(
        soaking.piece,
        soaking.brine,
        soaking.fish_mass_g,
        hours=soaking.hours,
        temp_c=soaking.temp_c,
        thawed=soaking.thawed,
    )
    return wps_after_loss(salted, loss_pct)


def _levers(now: Soaking, loss_pct: Spread, aim_wps_pct: float) -> Iterator[Lever]:
    piece = now.piece
    half = max(_THINNEST_MM, piece.thickness_mm / 2.0)
    if half < piece.thickness_mm:
        thinner = replace(now, piece=replace(piece, thickness_mm=half))
        yield Lever(Change.THINNER, half, _packed(thinner, loss_pct))
    if piece.open_faces == 1:
        yield Lever(Change.SKIN_OFF, 2.0, _packed(replace(now, piece=replace(piece, open_faces=2)), loss_pct))
    at_pull = wps_before_loss(aim_wps_pct, piece, loss_pct.mid)
    strength = strength_for(
        piece,
        now.fish_mass_g,
        now.brine.water_ml,
        at_pull,
        hours=now.hours,
        temp_c=now.temp_c,
        thawed=now.thawed,
    )
    if strength and strength.mid > now.brine.water_phase_pct.mid:
        stronger = replace(now, brine=recipe_for(strength.mid, now.brine.water_ml))
        yield Lever(Change.STRONGER, strength.mid, _packed(stronger, loss_pct))
    hours = time_to_wps(piece, now.brine, now.fish_mass_g, at_pull, temp_c=now.temp_c, thawed=now.thawed)
    if hours and hours.mid > now.hours:
        yield Lever(Change.LONGER, hours.mid, _packed(replace(now, hours=hours.mid), loss_pct))
