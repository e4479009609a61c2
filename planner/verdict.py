"""What a verdict is made of: the call, its reasons, and when the next look is due."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum


class Call(StrEnum):
    """The one-word result of a verdict."""

    GO = "go"  #: the step's condition is met
    WAIT = "wait"  #: nothing is wrong, not there yet
    ACT = "act"  #: something must be done now
    STOP = "stop"  #: a safety limit is broken and cannot be mended
    NOTED = "noted"  #: recorded; nothing hangs on it


@dataclass(frozen=True)
class Reason:
    """One rule that bore on a verdict.

    ``rule`` is the key of the rule, ``values`` the figures it was applied to (SI, unit in the key),
    ``source`` the line that names the published rule.
    """

    rule: str
    source: str
    values: Mapping[str, float | str] = field(default_factory=dict)


@dataclass(frozen=True)
class Eta:
    """When something is expected: a best guess and an 80 % range, all UTC."""

    of: str
    p10: datetime
    p50: datetime
    p90: datetime


@dataclass(frozen=True)
class Verdict:
    """The answer to a reading or to a question about going on."""

    about: str
    value: float | str | None
    call: Call
    stage: str
    lot: str | None = None
    reasons: tuple[Reason, ...] = ()
    next_look: datetime | None = None
    eta: Eta | None = None
    etas: tuple[Eta, ...] = ()
