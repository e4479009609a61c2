"""A best guess with its 80 % range."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """Low end (10 %), best guess (50 %) and high end (90 %) of one quantity, all in one unit."""

    low: float
    mid: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.mid <= self.high:
            raise ValueError(f"a spread must rise: {self.low:g}, {self.mid:g}, {self.high:g}")

    def scaled(self, factor: float) -> Spread:
        """The same spread in another unit; ``factor`` must be positive."""
        return Spread(self.low * factor, self.mid * factor, self.high * factor)
