"""Salt laid on dry, or a weighed share of it in a bag: how much, how long, what it gives."""

from __future__ import annotations

from dataclasses import dataclass

from planner.batch import Batch
from planner.brine import Brine
from planner.cures import dry_salt, equilibrium_brine, rub_for, time_to_even, time_to_take_up
from planner.making import Making
from planner.piece import Piece
from planner.salted import Salted

#: Percent of fish and water in an equilibrium cure where no figure was said: *ours*, mild to medium.
_EVEN_PCT = 2.0
#: Strongest rub that is proposed [% of the fish's weight]: *ours*.
_MOST_PCT = 12.0


@dataclass(frozen=True)
class Rub:
    """Dry salt of ``pct`` percent of the fish's weight; ``even`` where all of it stays in the bag.

    ``best_h`` is when it has gone in (even: when the middle has nearly the mean). An even cure can
    wait longer without getting saltier.
    """

    piece: Piece
    pct: float
    even: bool
    told: bool
    temp_c: float
    thawed: bool

    @property
    def best_h(self) -> float:
        """Best guess of the hours it takes."""
        if self.even:
            found = time_to_even(self.piece, temp_c=self.temp_c, thawed=self.thawed)
        else:
            found = time_to_take_up(self.piece, self.pct, temp_c=self.temp_c, thawed=self.thawed)
        return min(max(found.mid, 0.5), 72.0)

    def after(self, hours: float) -> Salted:
        """The piece after so many hours."""
        return dry_salt(
            self.piece,
            self.pct,
            hours=hours,
            temp_c=self.temp_c,
            thawed=self.thawed,
            drains=not self.even,
        )


def rub_of(batch: Batch, making: Making, target_pull_pct: float, temp_c: float) -> Rub:
    """The rub as told, or as much as brings the fish to the wanted salt. Raises OutOfRange."""
    told = batch.told.get("salt_per_fish_pct")
    if told is None and "salt_g" in batch.told:
        told = 100.0 * float(batch.told["salt_g"]) / making.mass_g
    even = making.cure == "equilibrium"
    if told is not None:
        pct = float(told)
    elif even:
        pct = _EVEN_PCT
    else:
        pct = min(rub_for(making.thickest, min(max(target_pull_pct, 0.1), 20.0)).mid, _MOST_PCT)
    return Rub(making.thickest, round(pct, 2), even, told is not None, temp_c, making.thawed)


def equilibrium_bath(batch: Batch, making: Making) -> Brine | None:
    """The bath of an equilibrium cure that has water to it; None where the salt goes on dry."""
    if making.cure != "equilibrium" or "water_ml" not in batch.told:
        return None
    pct = float(batch.told.get("salt_per_fish_pct", _EVEN_PCT))
    sugar = float(batch.told.get("sugar_g", 0.0))
    return equilibrium_brine(making.mass_g, float(batch.told["water_ml"]), pct, "fish_and_water", sugar)


def even_h(making: Making, temp_c: float) -> float:
    """Hours until an equilibrium cure is nearly even, best guess."""
    return min(time_to_even(making.thickest, temp_c=temp_c, thawed=making.thawed).mid, 72.0)
