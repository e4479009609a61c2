"""Fish by key: what the flesh is made of and which hazards it carries.

Every claim's source stands in ``data/species_hazards.csv`` and ``data/composition.csv``. Where it is
uncertain whether a fish carries a hazard, it counts as carrying it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache

from planner.piece import Composition
from planner.sources import Citation, cite, table


class Flag(StrEnum):
    """What is known of a hazard in a fish."""

    YES = "yes"
    NO = "no"
    EXEMPT = "exempt"  #: named as exempt from the rule to freeze
    UNCERTAIN = "uncertain"  #: counts as yes


class UnknownSpecies(KeyError):
    """No species or group has this key; take :func:`unknown_species` and say so."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__(f"no fish has the key {key!r}")


@dataclass(frozen=True)
class Species:
    """A fish, or a group of fish that share an everyday word.

    ``composition`` is of raw flesh; ``farmed_composition`` where farmed fish is known to differ.
    ``composition_stands_in`` is true where a relative's figures had to do. The four flags are as
    published; the properties of like name read an uncertain one as true.
    """

    key: str
    english: str
    families: tuple[str, ...]
    composition: Composition
    composition_stands_in: bool
    farmed_composition: Composition | None
    histamine_flag: Flag
    parasite_flag: Flag
    farmed_parasite_flag: Flag
    ciguatera_flag: Flag
    notes: tuple[str, ...]
    citations: tuple[Citation, ...]

    @property
    def family(self) -> str:
        """The widest everyday word for it, or its own key where there is none."""
        return self.families[0] if self.families else self.key

    @property
    def histamine(self) -> bool:
        """True if it can form histamine in the warm."""
        return self.histamine_flag is not Flag.NO

    @property
    def parasites(self) -> bool:
        """True if wild fish needs freezing before it is eaten raw or cold-smoked."""
        return self.parasite_flag in (Flag.YES, Flag.UNCERTAIN)

    @property
    def exempt(self) -> bool:
        """True if the food code names it as exempt from freezing."""
        return self.parasite_flag is Flag.EXEMPT

    @property
    def farmed_parasites(self) -> bool:
        """True if fish farmed on pellets needs freezing all the same."""
        return self.farmed_parasite_flag in (Flag.YES, Flag.UNCERTAIN)

    @property
    def ciguatera(self) -> bool:
        """True if it can carry the reef toxin that no process removes."""
        return self.ciguatera_flag not in (Flag.NO, Flag.EXEMPT)


@cache
def composition(key: str) -> Composition:
    """Row ``key`` of ``data/composition.csv``, brought to a sum of one. Raises KeyError."""
    row = _composition_rows()[key]
    names = [field.name for field in fields(Composition)]
    parts = {name: float(row[f"{name}_g"]) for name in names}
    total = sum(parts.values())
    return Composition(**{name: part / total for name, part in parts.items()})


def species_keys() -> tuple[str, ...]:
    """Keys of all single species, as in ``data/species.csv``."""
    return tuple(row["key"] for row in table("species"))


def group_keys() -> tuple[str, ...]:
    """Keys of the groups that share a word, such as ``salmon``."""
    return tuple(row["key"] for row in table("species_groups"))


@cache
def species(key: str) -> Species:
    """The species or group with this key. Raises UnknownSpecies.

    A group has the mean composition of its members and each hazard that any of them has: the worst
    case, until it is said which fish it is.
    """
    for row in table("species"):
        if row["key"] == key:
            return _single(row)
    for row in table("species_groups"):
        if row["key"] == key:
            members = [s for k in species_keys() if key in (s := species(k)).families]
            return _group(key, row["english"], members)
    raise UnknownSpecies(key)


@cache
def unknown_species() -> Species:
    """A fish of which nothing is known: middle composition, histamine-forming, parasite-bearing.

    Our own rule: what is not known counts as the worse case until told otherwise.
    """
    rule = cite("ours", "a fish that is not in the table counts as carrying histamine and parasites", "ours")
    return Species(
        key="unknown",
        english="fish",
        families=(),
        composition=_mean([species(key).composition for key in species_keys()]),
        composition_stands_in=True,
        farmed_composition=None,
        histamine_flag=Flag.UNCERTAIN,
        parasite_flag=Flag.UNCERTAIN,
        farmed_parasite_flag=Flag.UNCERTAIN,
        ciguatera_flag=Flag.NO,
        notes=("not in the table: counts as forming histamine and bearing parasites until told otherwise",),
        citations=(rule,),
    )


def _single(row: dict[str, str]) -> Species:
    key = row["key"]
    claims = {claim["hazard"]: claim for claim in table("species_hazards") if claim["species"] == key}
    flags = {hazard: Flag(claim["value"]) for hazard, claim in claims.items()}
    cautions = [caution for caution in table("species_cautions") if caution["species"] == key]
    notes = [caution["caution"] for caution in cautions]
    stands_in = row["composition_is"] == "stand-in"
    if stands_in:
        notes.append(f"composition of {row['composition'].replace('_', ' ')} stands in")
    sourced = [_composition_rows()[row["composition"]], *claims.values(), *cautions]
    return Species(
        key=key,
        english=row["english"],
        families=tuple(row["family"].split()),
        composition=composition(row["composition"]),
        composition_stands_in=stands_in,
        farmed_composition=composition(row["composition_farmed"]) if row["composition_farmed"] else None,
        histamine_flag=flags.get("histamine", Flag.UNCERTAIN),
        parasite_flag=flags.get("parasites", Flag.UNCERTAIN),
        farmed_parasite_flag=flags.get("farmed_parasites", Flag.UNCERTAIN),
        ciguatera_flag=flags.get("ciguatera", Flag.NO),
        notes=tuple(notes),
        citations=tuple(cite(line["source"], line["place"], line["status"]) for line in sourced),
    )


def _group(key: str, english: str, members: Sequence[Species]) -> Species:
    citations = dict.fromkeys(citation for member in members for citation in member.citations)
    return Species(
        key=key,
        english=english,
        families=(key,),
        composition=_mean([member.composition for member in members]),
        composition_stands_in=True,
        farmed_composition=None,
        histamine_flag=_worst([member.histamine_flag for member in members]),
        parasite_flag=_worst([member.parasite_flag for member in members]),
        farmed_parasite_flag=_worst([member.farmed_parasite_flag for member in members]),
        ciguatera_flag=_worst([member.ciguatera_flag for member in members]),
        notes=(f"any {english}: the worst case of {len(members)} kinds",),
        citations=tuple(citations),
    )


def _worst(flags: Sequence[Flag]) -> Flag:
    return next(flag for flag in (Flag.YES, Flag.UNCERTAIN, Flag.EXEMPT, Flag.NO) if flag in flags)


def _mean(parts: Sequence[Composition]) -> Composition:
    names = [field.name for field in fields(Composition)]
    return Composition(**{name: sum(getattr(p, name) for p in parts) / len(parts) for name in names})


@cache
def _composition_rows() -> dict[str, dict[str, str]]:
    return {row["key"]: row for row in table("composition")}
