"""The stages of a batch, in order, and what kind of stage each is."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """A step of the work; a plan uses those that the batch needs."""

    THAW = "thaw"
    TRIM = "trim"
    SOAK = "soak"  #: wet brine
    SALT = "salt"  #: dry salt
    RINSE = "rinse"
    REST = "rest"  #: salt evens out, in the cold
    DRY = "dry"  #: to the pellicle
    SMOKE = "smoke"
    COOL = "cool"  #: out of the smoke, down through the danger band
    CHILL = "chill"  #: in the cold, uncovered
    PACK = "pack"
    KEEP = "keep"


ORDER: tuple[Stage, ...] = tuple(Stage)

#: Stages that wait in the cold and so can take up slack.
COLD = frozenset({Stage.THAW, Stage.SOAK, Stage.SALT, Stage.REST, Stage.CHILL, Stage.KEEP})


def comes_after(later: Stage, earlier: Stage) -> bool:
    """True if ``later`` follows ``earlier`` in the order of work."""
    return ORDER.index(later) > ORDER.index(earlier)
