"""How wide a piece is likely to be, from its weight, thickness and form."""

from __future__ import annotations

import math

from planner.ranges import require_between
from planner.sources import rules


def likely_width_mm(form: str, piece_mass_g: float, thickness_mm: float) -> float:
    """Shorter side [mm] of one piece of ``form`` (``fillet`` ... ``whole``) weighing ``piece_mass_g``.

    Volume over mean thickness gives the area, the usual proportion of the form its shorter side; our
    own rule. An unknown form counts as a fillet. Raises OutOfRange.
    """
    require_between("piece_mass_g", piece_mass_g, 5.0, 50_000.0, "g")
    require_between("thickness_mm", thickness_mm, 2.0, 150.0, "mm")
    data = rules("widths")
    proportion = data["length_over_width"].get(form, data["length_over_width"]["fillet"])
    mean_mm = thickness_mm * data["mean_over_thickest"]["value"]
    area_mm2 = piece_mass_g / data["flesh"]["g_per_ml"] * 1000.0 / mean_mm
    return math.sqrt(area_mm2 / float(proportion))
