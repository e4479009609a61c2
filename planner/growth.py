"""Growth of Listeria and time to toxin: models that shorten or explain, never lengthen."""

from __future__ import annotations

import math

from planner.limits import rule
from planner.ranges import require_between


def listeria_per_day(temp_c: float, sd_k: float = 0.0) -> float:
    """Growth of Listeria in cold-smoked salmon at ``temp_c`` (-5..25 °C) [log10 CFU/g per day].

    r = mu/ln 10 (s^2 + (T - Tmin)^2)/(25 - Tmin)^2, no lag; ``sd_k`` (0..10 K) is how much the
    temperature swings: a fridge that swings grows more than its mean says. Delignette-Muller 2006,
    Pouillot 2007, eq. 1.
    """
    require_between("temp_c", temp_c, -5.0, 25.0, "°C")
    require_between("sd_k", sd_k, 0.0, 10.0, "K")
    p = rule("growth.square_root")
    return square_root_rate(temp_c, p["mu_per_day"], p["t_min_c"], p["t_ref_c"], sd_k)


def square_root_rate(temp_c: float, mu_per_day: float, t_min_c: float, t_ref_c: float, sd_k: float) -> float:
    """The square-root model with any parameters [log10 per day]; zero at and below ``t_min_c``."""
    if temp_c <= t_min_c:
        return 0.0
    squared = sd_k**2 + (temp_c - t_min_c) ** 2
    return mu_per_day / math.log(10.0) * squared / (t_ref_c - t_min_c) ** 2


def listeria_from_5c(temp_c: float, egr5: float | None = None) -> float:
    """Growth of Listeria at ``temp_c`` (-1..15 °C) from its rate at 5 °C [log10 CFU/g per day].

    r = EGR5 ((T + 1.18)/6.18)^2; without ``egr5`` the mean of smoked seafood. FDA/FSIS/CDC,
    Quantitative assessment of Listeria, 2003, Appendix 8.
    """
    require_between("temp_c", temp_c, -1.0, 15.0, "°C")
    p = rule("growth.egr5")
    rate = p["mean"] if egr5 is None else egr5
    return float(rate * ((temp_c - p["t_0_c"]) / (5.0 - p["t_0_c"])) ** 2)


def toxin_days(temp_c: float) -> float:
    """Days until toxin of C. botulinum could form in any food at ``temp_c`` (-20..30 °C).

    log10 days = 0.65 - 0.0525 T + 2.74/T, colder than 3.3 °C as at 3.3 °C. G. E. Skinner, J. W.
    Larkin, J. Food Prot. 61:1154 (1998), coefficients from memory. An outer bound.
    """
    p = rule("growth.toxin_time")
    require_between("temp_c", round(temp_c, 6), -20.0, p["to_c"], "°C")
    clamped = max(temp_c, p["clamp_c"])
    return float(10.0 ** (p["a"] + p["b"] * clamped + p["c"] / clamped))
