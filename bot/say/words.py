"""What things are called: fish, stages, lots, salts."""

from __future__ import annotations

from planner.batch import WHOLE
from planner.stages import Stage

STAGE = {
    Stage.THAW: "Thaw",
    Stage.TRIM: "Trim",
    Stage.SOAK: "Soak",
    Stage.SALT: "Salt",
    Stage.RINSE: "Rinse",
    Stage.REST: "Rest, cold",
    Stage.DRY: "Dry",
    Stage.SMOKE: "Smoke",
    Stage.COOL: "Cool",
    Stage.CHILL: "Chill",
    Stage.PACK: "Pack",
    Stage.KEEP: "Keep",
}

#: The stage as a thing that goes on: "while drying".
DOING = {
    Stage.THAW: "thawing",
    Stage.TRIM: "trimming",
    Stage.SOAK: "soaking",
    Stage.SALT: "in the salt",
    Stage.RINSE: "rinsing",
    Stage.REST: "resting in the cold",
    Stage.DRY: "drying",
    Stage.SMOKE: "smoking",
    Stage.COOL: "cooling",
    Stage.CHILL: "in the cold",
    Stage.PACK: "packing",
    Stage.KEEP: "packed",
}

_SALT = {
    "table": "table salt",
    "fine_sea": "fine sea salt",
    "coarse": "coarse salt",
    "flake_light": "light flaky kosher",
    "flake_dense": "dense flaky kosher",
    "kosher": "kosher salt",
}

#: A slot as a person would name it.
SLOT = {
    "species": "the kind of fish",
    "form": "the cut",
    "mass_g": "the weight",
    "thickness_mm": "the thickness",
    "skin": "the skin",
    "fridge_c": "the fridge",
    "air_c": "the air",
    "rh_pct": "the humidity",
    "fan": "a fan",
    "chamber_c": "the chamber",
    "salt_kind": "the kind of salt",
    "taste": "the taste",
    "pieces": "the number of pieces",
}


def fish(key: str | None) -> str:
    """A species in everyday words; "fish" where it was not said."""
    if not key:
        return "fish"
    words = key.replace("_", " ")
    for long in (" salmon",):
        if words.endswith(long) and words.removesuffix(long) in ("king", "sockeye", "coho"):
            return words.removesuffix(long)
    return words


def salt(kind: str | None) -> str:
    """A kind of salt in everyday words."""
    return _SALT.get(kind or "", "salt")


def lot(name: str | None, *, start: bool = False) -> str:
    """A lot as people point at it: "the small ones"; "the core" needs no lot where all are alike."""
    if name in (None, WHOLE):
        words = "the fish"
    elif name in ("small", "medium", "large"):
        words = f"the {name} ones"
    else:
        words = f"the {name}"
    return words.capitalize() if start else words


def of_lot(name: str | None) -> str:
    """ " of the small ones", or nothing where all are alike."""
    return "" if name in (None, WHOLE) else f" of {lot(name)}"
