"""What is being made: the batch as told, with the usual put in where nothing was said.

Every slot that was filled in here is named in ``assumed``; none of them opens a gate.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from planner.batch import Batch, Lot
from planner.drying import Air
from planner.keeping import Pack
from planner.limits import rule
from planner.piece import Piece
from planner.rig.experience import NOTHING, Experience
from planner.rig.taste import Taste
from planner.sources import rules
from planner.species import Species, UnknownSpecies, species, unknown_species
from planner.stages import Stage
from planner.widths import likely_width_mm


@dataclass(frozen=True)
class Making:
    """A batch ready for the sums. Temperatures in °C, masses in g, water-phase salt in percent."""

    species_key: str
    species: Species
    form: str
    lots: tuple[Lot, ...]
    pieces: Mapping[str, Piece]
    mass_g: float
    cure: str
    thawed: bool
    frozen: bool
    fridge_c: float
    air: Air
    chamber_c: float
    cold_smoke: bool
    taste_wps: float
    work_to_c: float | None
    pack: Pack
    assumed: tuple[str, ...]
    #: What earlier batches taught of the rig and of the taste.
    known: Experience = NOTHING

    @property
    def known_fish(self) -> bool:
        """False where the fish is not in the table, or was not said: it counts as the worse case."""
        return self.species.key != "unknown"

    @property
    def thickest(self) -> Piece:
        """The piece that takes longest in everything."""
        return max(self.pieces.values(), key=lambda p: p.thickness_mm)

    @property
    def route(self) -> tuple[Stage, ...]:
        """The stages that this batch uses, in order."""
        first = [Stage.THAW] if self.frozen else []
        salting = Stage.SALT if self.cure != "wet" else Stage.SOAK
        rest = [Stage.RINSE, Stage.REST, Stage.DRY, Stage.SMOKE, Stage.COOL]
        return (*first, salting, *rest, Stage.CHILL, Stage.PACK, Stage.KEEP)


def make(batch: Batch, known: Experience = NOTHING) -> Making:
    """Fill in what is ``known`` of rig and taste, or the usual (``data/usual.toml``), where the batch does not say."""
    fill = _Filler(batch)
    key, kind = _fish(batch.told.get("species"))
    if "species" not in batch.told:
        fill.assumed.append("species")
    form = str(fill.told("form", "fillet"))
    lots = tuple(_sized(lot, kind, form, fill) for lot in batch.lots)
    faces = 1 if fill.told("skin", _usual_skin(form)) == "on" else 2
    smoke_kind = batch.told.get("smoke_kind", "hot")
    state = batch.told.get("state", "fresh")
    return Making(
        species_key=key,
        species=kind,
        form=form,
        lots=lots,
        pieces={lot.name: _piece(lot, kind, form, faces) for lot in lots},
        mass_g=_mass(lots, fill),
        cure=str(batch.told.get("cure", "wet")),
        thawed=state in ("thawed", "frozen"),
        frozen=state == "frozen",
        fridge_c=float(fill.latest("fridge_c", _usual_fridge(known))),
        air=_air(fill),
        chamber_c=_chamber(fill, smoke_kind, known.taste),
        cold_smoke=smoke_kind == "cold",
        taste_wps=_taste(fill, known.taste),
        work_to_c=_work_to(batch),
        pack=_pack(batch.told.get("pack")),
        assumed=tuple(fill.assumed),
        known=known,
    )


class _Filler:
    """Takes what was told or read, else the usual, and notes which."""

    def __init__(self, batch: Batch) -> None:
        self.batch = batch
        self.assumed: list[str] = []

    def told(self, key: str, usual: Any) -> Any:
        if key in self.batch.told:
            return self.batch.told[key]
        self.assumed.append(key)
        return usual

    def latest(self, key: str, usual: Any) -> Any:
        """The last reading, or a later word in the description, else the usual."""
        read = self.batch.values(key)
        said = self.batch.told_at.get(key)
        if read and (said is None or read[-1].at >= said):
            return read[-1].slots[key]
        return self.told(key, usual)


def _fish(key: str | None) -> tuple[str, Species]:
    if key is None:
        return "unknown", unknown_species()
    try:
        return key, species(key)
    except UnknownSpecies:
        return key, unknown_species()


def _piece(lot: Lot, kind: Species, form: str, faces: int) -> Piece:
    thickness = lot.thickness_mm or 0.0
    width = None
    if lot.mass_g and lot.pieces and 2.0 <= thickness <= 150.0 and 5.0 <= lot.mass_g / lot.pieces <= 50_000.0:
        width = round(likely_width_mm(form, lot.mass_g / lot.pieces, thickness))
    return Piece(kind.composition, thickness, faces, width)


def _usual_skin(form: str) -> str:
    return "off" if form in rules("usual")["forms"]["skinless"] else "on"


def _sized(lot: Lot, kind: Species, form: str, fill: _Filler) -> Lot:
    if lot.thickness_mm is not None:
        return lot
    if "thickness_mm" not in fill.assumed:
        fill.assumed.append("thickness_mm")
    usual = rules("usual")["thickness_mm"]
    for group in (kind.key, *kind.families, "other"):
        if group in usual and form in usual[group]:
            return replace(lot, thickness_mm=float(usual[group][form]) * _size_factor(lot.name))
    return replace(lot, thickness_mm=float(usual["other"]["fillet"]))


def _size_factor(name: str) -> float:
    # Ours: lots that were told apart only by size differ by a third around the usual piece.
    return {"small": 0.67, "large": 1.33}.get(name, 1.0)


def _mass(lots: tuple[Lot, ...], fill: _Filler) -> float:
    parts = [lot.mass_g for lot in lots if lot.mass_g]
    if len(parts) == len(lots) and parts:
        return float(sum(parts))
    return float(fill.told("mass_g", rules("usual")["mass"]["mass_g"]))


#: Beyond these the sums of drying do not reach; a frost or a gale counts as their end.
_DRYING_C = (-5.0, 60.0)
_STRONGEST_WIND_M_S = 10.0


def air_as_dried(air_c: float) -> float:
    """Air temperature as the sums of drying take it [°C]; exposure is counted from what was read."""
    return min(max(air_c, _DRYING_C[0]), _DRYING_C[1])


def _air(fill: _Filler) -> Air:
    usual = rules("usual")["air"]
    wind = fill.latest("wind_m_s", None) if fill.batch.values("wind_m_s") else fill.batch.told.get("wind_m_s")
    return Air(
        air_c=air_as_dried(float(fill.latest("air_c", usual["air_c"]))),
        rh_pct=float(fill.latest("rh_pct", usual["rh_pct"])),
        wind_m_s=min(float(wind), _STRONGEST_WIND_M_S) if wind is not None else None,
        fan=bool(fill.told("fan", usual["fan"])) if wind is None else True,
    )


def _usual_fridge(known: Experience) -> float:
    return round(known.fridge_c.mean, 1) if known.fridge_c else float(rules("usual")["cold"]["fridge_c"])


def _chamber(fill: _Filler, smoke_kind: str, taste: Taste | None) -> float:
    usual = rules("usual")["chamber"]
    if smoke_kind == "cold":
        return float(fill.latest("chamber_c", usual["cold_c"]))
    moved = taste is not None and taste.chamber_moved
    return float(fill.latest("chamber_c", taste.chamber_c if taste and moved else usual["hot_c"]))


def _pack(told: Any) -> Pack:
    if told == "airless":
        return "airless"
    return "frozen" if told == "frozen" else "open"


def _taste(fill: _Filler, taste: Taste | None) -> float:
    """The salt that is worked toward [%]; what was tasted never lowers it under what the packing needs."""
    told = fill.batch.told
    if "taste_wps_pct" in told:
        return _not_under_need(float(told["taste_wps_pct"]), told.get("pack"))
    tastes = rules("usual")["taste_wps_pct"]
    if "taste" in told or taste is None:
        return float(tastes[fill.told("taste", "medium")])
    return _not_under_need(taste.wps_pct, told.get("pack"))


def _not_under_need(wps_pct: float, pack: Any) -> float:
    return max(wps_pct, float(rule("airless")["wps_pct"])) if pack == "airless" else wps_pct


def _work_to(batch: Batch) -> float | None:
    chosen = [c.slots["work_to_c"] for c in batch.choices if "work_to_c" in c.slots]
    return float(chosen[-1]) if chosen else None
