"""What the sums need to know of one piece of fish."""

from __future__ import annotations

from dataclasses import dataclass

from planner.ranges import require_between


@dataclass(frozen=True)
class Composition:
    """Proximate composition of raw flesh in mass fractions that sum to one [kg/kg]."""

    water: float
    protein: float
    fat: float
    ash: float
    carbohydrate: float = 0.0

    def __post_init__(self) -> None:
        total = self.water + self.protein + self.fat + self.ash + self.carbohydrate
        require_between("sum of the mass fractions", total, 0.999, 1.001, "kg/kg")


@dataclass(frozen=True)
class Piece:
    """A slab of flesh.

    ``thickness_mm`` (2..150) is the thickest part. ``open_faces`` is 1 where skin seals one face
    (it lets neither salt nor water through), else 2. ``width_mm`` is the shorter side, None
    where nothing is known of it: heat then takes it as wide, salt as anything from a strip to a side.
    """

    composition: Composition
    thickness_mm: float
    open_faces: int = 2
    width_mm: float | None = None

    def __post_init__(self) -> None:
        require_between("thickness_mm", self.thickness_mm, 2.0, 150.0, "mm")
        require_between("open_faces", self.open_faces, 1, 2, "faces")
