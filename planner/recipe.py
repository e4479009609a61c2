"""The salt of a batch: the brine as told or as chosen for it, how long, and what the fish takes up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache

from planner.batch import Batch
from planner.brine import Brine, brine, brine_to_cover, recipe_for, water_in
from planner.brine_said import OneStrength, SaltSaid, salt_said, sugar_said
from planner.habits import Habits
from planner.making import Making
from planner.piece import Piece
from planner.plan import BrinePlan, SaltInFish
from planner.rub import Rub, equilibrium_bath, even_h, rub_of
from planner.salted import Salted, even_out, wps_after_loss, wps_before_loss
from planner.salts import salt as salt_of
from planner.schedule import SoakLength
from planner.soak import soak, strength_for, time_to_wps
from planner.sources import rules
from planner.spread import Spread
from planner.stages import Stage
from planner.units import salometer_to_mass_pct

#: Longest and shortest soak that a plan proposes: *ours*; guidance does not favour weak brines that
#: take a day (Kitsap County extension 1992).
LONGEST_H = 24.0
_SHORTEST_H = 0.5
#: A soak shorter than this is strong for the piece: right for minutes, salty at the edge.
_TOO_SHORT_H = 0.75
#: How far from its best length a soak may be moved to miss quiet hours: taste goes with the root.
_EARLIER, _LATER = 0.8, 1.5
#: Sugar to a part of salt in a dry mix where none was said: *ours*.
_USUAL_DRY_SUGAR = 1.0
#: Middle temperature of the flesh over a hot smoke: *ours*, from the usual core curve.
_SMOKING_FISH_C = 45.0
#: Evening hours from which an open soak is laid overnight.
_EVENING_FROM, _EVENING_TO = 15, 3


@dataclass(frozen=True)
class Salting:
    """Salt of a batch, before and after the pull is laid out.

    ``in_fish`` is None until :meth:`pulled_after`. ``too_weak_pct`` is what a brine too weak for the
    taste can reach at pack, ``spread_pct`` the brine's percent where salt was given by volume.
    """

    batch: Batch
    making: Making
    brine: Brine | None
    told: bool
    water_ml: float
    length: SoakLength
    best_h: float
    target_pull_pct: float
    assumed: tuple[str, ...]
    too_weak_pct: float | None = None
    spread_pct: tuple[float, float] | None = None
    salt_source: str = ""
    rub: Rub | None = None
    salted: Salted | None = None
    in_fish: SaltInFish | None = None

    @property
    def too_strong(self) -> bool:
        """True if the soak is over almost at once."""
        return self.told and self.best_h < _TOO_SHORT_H

    @property
    def expected_pull_wps(self) -> float:
        """Mean water-phase salt at the pull as far as it is known [%]."""
        return self.pull_mean or self.target_pull_pct

    @property
    def pull_mean(self) -> float:
        """Mean water-phase salt at the pull [%], the target before the pull is laid out."""
        return self.in_fish.pull_mean if self.in_fish else self.target_pull_pct

    @property
    def brine_plan(self) -> BrinePlan | None:
        """What to weigh; None until an open brine is chosen."""
        if self.rub is not None:
            return self._rub_plan(self.rub)
        if self.brine is None:
            return None
        b = self.brine
        return BrinePlan(
            salt_g=b.salt_g.mid,
            salt_low_g=b.salt_g.low,
            salt_high_g=b.salt_g.high,
            sugar_g=b.sugar_g.mid,
            water_ml=self.water_ml,
            salt_pct=b.salt_pct.mid,
            salometer_deg=b.salometer_deg.mid,
            told=self.told,
        )

    def _rub_plan(self, rub: Rub) -> BrinePlan:
        grams = self.making.mass_g * rub.pct / 100.0
        told = sugar_said(self.batch.told)
        sugar = _USUAL_DRY_SUGAR * grams
        if told is not None:
            measured = told.measured_g(1000.0)
            kind = str(self.batch.told.get("salt_kind", "table"))
            sugar = measured.mid if measured else told.per_salt(kind).mid * grams
        return BrinePlan(
            salt_g=grams,
            salt_low_g=grams,
            salt_high_g=grams,
            sugar_g=0.0 if rub.even and told is None else sugar,
            water_ml=0.0,
            salt_pct=None,
            salometer_deg=None,
            told=rub.told,
            salt_per_fish_pct=rub.pct,
        )

    def pulled_after(self, hours: float, loss_pct: Spread, cold_h: float, smoke_h: float) -> Salting:
        """The same once the length of the soak is known: an open brine is chosen to fit it.

        Salt evens out in the piece over the ``cold_h`` between pull and pack and, faster, in smoke.
        """
        hours = min(max(hours, 0.02), 239.0)
        chosen = self if self.brine is not None or self.rub is not None else self._chosen(hours)
        salted = chosen.after(hours)
        rested = even_out(salted, min(cold_h, 120.0), _within_cold(chosen.making.fridge_c))
        smoked = even_out(rested, min(smoke_h, 24.0), _SMOKING_FISH_C)
        packed = wps_after_loss(smoked, _bounded(loss_pct))
        in_fish = SaltInFish(
            mean=packed.mean.mid,
            core=packed.core.mid,
            low=packed.mean.low,
            high=packed.mean.high,
            pull_mean=salted.mean.mid,
            pull_core=salted.core.mid,
        )
        return replace(chosen, salted=salted, in_fish=in_fish)

    def after(self, hours: float) -> Salted:
        """The thickest piece after so many hours; the brine must be known or the fish salted dry."""
        making = self.making
        piece = making.thickest
        temp_c = _within_cold(making.fridge_c)
        if self.rub is not None:
            return self.rub.after(hours)
        if self.brine is None:
            raise ValueError("the brine is still open")
        return soak(
            piece, self.brine, making.mass_g, hours=hours, temp_c=temp_c, thawed=making.thawed
        )

    def _chosen(self, hours: float) -> Salting:
        making, usual = self.making, rules("usual")["brine"]
        temp_c = _within_cold(making.fridge_c)
        needed = strength_for(
            making.thickest,
            making.mass_g,
            self.water_ml,
            self.target_pull_pct,
            hours=hours,
            temp_c=temp_c,
            thawed=making.thawed,
        )
        strongest = salometer_to_mass_pct(usual["strongest_salometer"])
        weakest = salometer_to_mass_pct(usual["weakest_salometer"])
        pct = min(max(needed.mid if needed else strongest, weakest), strongest)
        plain = recipe_for(pct, self.water_ml)
        told = sugar_said(self.batch.told)
        grams = _round(plain.salt_g.mid)
        sugar = _round(grams * usual["sugar_per_salt"]) if told is None else 0.0
        mixed = (
            brine(self.water_ml, SaltSaid("salt_g", grams), told)
            if told
            else Brine(Spread(grams, grams, grams), Spread(sugar, sugar, sugar), plain.water_g)
        )
        return replace(self, brine=mixed)


def salting(
    batch: Batch, making: Making, habits: Habits, now: datetime, loss_pct: float
) -> Salting:
    """The salt of a batch as told, and how long the soak should be for its taste.

    ``loss_pct`` is the share of the brined weight that drying and smoking take. Raises OverSaturated
    or OutOfRange for a brine that cannot be.
    """
    loss_pct = min(loss_pct, 45.0)
    target = wps_before_loss(making.taste_wps, making.thickest, loss_pct)
    water_ml, assumed = _water(batch, making)
    bath = equilibrium_bath(batch, making)
    if bath is not None:
        best = even_h(making, _within_cold(making.fridge_c))
        length = _hours(best, best * _EARLIER, best * 2.0 + 24.0)
        return Salting(batch, making, bath, True, water_ml, length, best, target, ())
    if making.cure != "wet":
        return _rubbed(batch, making, target)
    mixed, salt_assumed = told_brine(batch, water_ml)
    if mixed is None:
        length, best_h = _open_length(batch, making, water_ml, target, habits, now)
        return Salting(batch, making, None, False, water_ml, length, best_h, target, ())
    night_h = _overnight(batch, habits, now) or 12.0
    return _told_length(
        Salting(
            batch,
            making,
            mixed,
            True,
            water_ml,
            _hours(1.0, 1.0, 1.0),
            1.0,
            target,
            (*assumed, *salt_assumed),
            spread_pct=_wide(mixed),
            salt_source=_salt_source(batch),
        ),
        loss_pct,
        night_h,
    )


def told_brine(batch: Batch, water_ml: float) -> tuple[Brine | None, tuple[str, ...]]:
    """The brine as told or read, and which slots had to be assumed for it; None where it is open.

    Raises OverSaturated, OutOfRange, OneStrength.
    """
    slots = dict(batch.told)
    read = batch.values("salometer_deg")
    sugar = sugar_said(slots)
    if read and sugar is None:
        return brine(water_ml, SaltSaid("salometer_deg", float(read[-1].slots["salometer_deg"]))), ()
    assumed: tuple[str, ...] = ()
    if "salt_ml_per_l" in slots and "salt_kind" not in slots:
        slots["salt_kind"] = "table"
        assumed = ("salt_kind",)
    try:
        said = salt_said(slots)
    except OneStrength as error:
        if error.came:
            raise
        return None, ()
    return brine(water_ml, said, sugar), assumed


def _water(batch: Batch, making: Making) -> tuple[float, tuple[str, ...]]:
    told = batch.told
    if "water_ml" in told:
        return float(told["water_ml"]), ()
    if "brine_ml" in told:
        return water_in(float(told["brine_ml"]), float(told.get("salt_pct", 10.0))), ()
    return _cover(making), ("water_ml",)


def _cover(making: Making) -> float:
    """Water that covers the fish, to the half litre as people measure it out."""
    covers = brine_to_cover(making.mass_g).mid
    usual = rules("usual")["brine"]["water_ml_per_kg"] * making.mass_g / 1000.0
    return float(max(500.0, round(max(covers * 0.9, usual) / 500.0) * 500.0))


def _told_length(salt: Salting, loss_pct: float, night_h: float) -> Salting:
    making = salt.making
    assert salt.brine is not None
    if "soak_h" in salt.batch.told:
        told_h = min(max(float(salt.batch.told["soak_h"]), 0.05), 200.0)
        return replace(salt, length=_hours(told_h, told_h, told_h), best_h=told_h)
    temp_c = _within_cold(making.fridge_c)
    found = _time_to(
        making.thickest, salt.brine, making.mass_g, round(salt.target_pull_pct, 2), temp_c, making.thawed
    )
    if found is None or found.mid > LONGEST_H:
        # A brine that weak is left in overnight as people do, and what it reaches is said.
        salted = soak(
            making.thickest, salt.brine, making.mass_g, hours=night_h, temp_c=temp_c, thawed=making.thawed
        )
        reach = wps_after_loss(salted, Spread(loss_pct, loss_pct, loss_pct)).mean.mid
        length = _hours(night_h, night_h * _EARLIER, LONGEST_H)
        return replace(salt, length=length, best_h=night_h, too_weak_pct=reach)
    best = max(found.mid, 0.1)
    length = _hours(best, best * _EARLIER, min(max(best * _LATER, best + 0.5), LONGEST_H * 1.2))
    return replace(salt, length=length, best_h=best)


def _open_length(
    batch: Batch, making: Making, water_ml: float, target: float, habits: Habits, now: datetime
) -> tuple[SoakLength, float]:
    usual = rules("usual")["brine"]
    temp_c = _within_cold(making.fridge_c)

    def at(degrees: float) -> float:
        made = recipe_for(salometer_to_mass_pct(degrees), water_ml)
        found = _time_to(making.thickest, made, making.mass_g, round(target, 2), temp_c, making.thawed)
        return LONGEST_H if found is None else found.mid

    shortest = max(at(usual["strongest_salometer"]), _SHORTEST_H)
    longest = min(max(at(usual["weakest_salometer"]), shortest + 1.0), LONGEST_H)
    best = _overnight(batch, habits, now) or at(60.0)
    best = min(max(best, shortest), longest)
    if "soak_h" in batch.told:
        best = shortest = longest = float(batch.told["soak_h"])
    return _hours(best, shortest, longest, free=True), best


@lru_cache(maxsize=128)
def _time_to(
    piece: Piece, mixed: Brine, mass_g: float, target: float, temp_c: float, thawed: bool
) -> Spread | None:
    """:func:`planner.soak.time_to_wps`, remembered: every re-plan of a soak asks for the same."""
    return time_to_wps(piece, mixed, mass_g, target, temp_c=temp_c, thawed=thawed)


def _overnight(batch: Batch, habits: Habits, now: datetime) -> float | None:
    """Hours from an evening start to half an hour after quiet hours end; None for a start by day."""
    told = batch.told.get("soak_start") or batch.told.get("start_at")
    start = datetime.fromisoformat(told) if told else now
    start = batch.started_at(Stage.SOAK) or start
    hour = habits.local(start).hour
    if _EVENING_TO <= hour < _EVENING_FROM:
        return None
    night = start + timedelta(hours=4)
    while not habits.is_quiet(night) and night < start + timedelta(hours=14):
        night += timedelta(minutes=30)
    morning = habits.quiet_end(night)
    return (morning + timedelta(minutes=30) - start) / timedelta(hours=1)


def _hours(best: float, shortest: float, longest: float, *, free: bool = False) -> SoakLength:
    h = timedelta(hours=1)
    return SoakLength(best * h, min(shortest, best) * h, max(longest, best) * h, free)


def _within_cold(temp_c: float) -> float:
    """The fridge as the sums take it; what is safe is judged elsewhere and stricter."""
    return min(max(temp_c, -2.0), 25.0)


def _bounded(loss: Spread) -> Spread:
    return Spread(min(loss.low, 45.0), min(loss.mid, 48.0), min(loss.high, 50.0))


def _rubbed(batch: Batch, making: Making, target: float) -> Salting:
    rub = rub_of(batch, making, target, _within_cold(making.fridge_c))
    best = rub.best_h
    # Once the salt has gone in the fish gets no saltier, it only evens out: it can wait.
    latest = best * 2.0 + (24.0 if rub.even else 12.0)
    length = _hours(best, best * _EARLIER, latest)
    return Salting(batch, making, None, rub.told, 0.0, length, best, target, (), rub=rub)


def _wide(mixed: Brine) -> tuple[float, float] | None:
    """The brine's percent where a volume of salt leaves it wide open."""
    pct = mixed.salt_pct
    return (pct.low, pct.high) if pct.high - pct.low > 0.15 * pct.mid else None


def _salt_source(batch: Batch) -> str:
    if "salt_ml_per_l" not in batch.told:
        return ""
    return salt_of(str(batch.told.get("salt_kind", "table"))).citation.text()


def _round(grams: float) -> float:
    """To what a kitchen scale shows: 5 g."""
    return max(5.0, round(grams / 5.0) * 5.0)
