"""The values that a rig teaches, in groups: what is believed of each before the first batch."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from planner.rig.belief import Normal, Rules
from planner.sources import rules
from planner.unknowns import NAMES, usual

#: The unknowns of a cook that are the rig's; the others are the fish's.
OF_RIG = ("transfer", "humidity", "chamber")
PLACES = tuple(NAMES.index(name) for name in OF_RIG)


@lru_cache(maxsize=1)
def groups() -> Mapping[str, Rules]:
    """Each group with what is believed before any batch (``data/rig.toml``, ``data/heat.toml``)."""
    data = rules("rig")
    drying = _split(math.log(rules("heat")["pellicle"]["sd_factor"]), math.log(data["drying"]["batch_sd_factor"]))
    fridge, loss = data["fridge"], data["loss"]
    usual_c = rules("usual")["cold"]["fridge_c"]
    return {
        "drying": Rules(("tack",), Normal.apart((0.0,), (drying[0],)), (drying[1],)),
        "smoke": _smoke(data),
        "fridge": Rules(("fridge_c",), Normal.apart((usual_c,), (fridge["rig_sd"],)), (fridge["batch_sd"],)),
        "loss": Rules(("loss",), Normal.apart((0.0,), (loss["rig_sd"],)), (loss["batch_sd"],)),
    }


def _smoke(data: Mapping[str, Any]) -> Rules:
    batch = (
        math.log(data["transfer"]["batch_sd_factor"]),
        math.log(data["humidity"]["batch_sd_factor"]),
        float(data["chamber"]["batch_sd"]),
    )
    rig = [_split(usual().sd[place], sd)[0] for place, sd in zip(PLACES, batch, strict=True)]
    return Rules(OF_RIG, Normal.apart([usual().mean[place] for place in PLACES], rig), batch)


def _split(whole: float, batch: float) -> tuple[float, float]:
    """The rig's part of a batch's whole spread, and the batch's own."""
    return math.sqrt(whole**2 - batch**2), batch


def usual_normal(group: str) -> Normal:
    """What is believed of one batch of a rig that nothing is known of: the whole spread."""
    return groups()[group].of_next_batch(())
