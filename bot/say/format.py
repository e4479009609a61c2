"""Numbers, quantities, times and spans, written the way the chat writes them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

_VULGAR = {Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾"}
_ML_PER_CUP, _ML_PER_QUART, _ML_PER_GALLON = 236.588, 946.353, 3785.412
#: Whole degrees that decide something (cold, cooling, floor, aim).
_LIMITS_F = frozenset({38, 40, 70, 145, 160})
_G_PER_LB, _G_PER_OZ, _MM_PER_IN = 453.592, 28.3495, 25.4


@dataclass(frozen=True)
class Pen:
    """Writes for one chat: its units, its zone and the moment of writing."""

    now: datetime
    zone: str = "UTC"
    units: str | None = None

    @property
    def us(self) -> bool:
        """True where the chat uses US units."""
        return self.units == "us"

    def temp(self, celsius: float) -> str:
        """A temperature in the chat's scale, to the digit that people read off a thermometer."""
        if self.us:
            return f"{_fahrenheit(celsius)} °F"
        return f"{_trim(celsius, 1)} °C"

    def limit(self, celsius: float) -> str:
        """A temperature that matters, in both scales, the chat's first."""
        c, f = f"{_trim(celsius, 1)} °C", f"{_trim(celsius * 1.8 + 32, 0)} °F"
        return f"{f} / {c}" if self.us else f"{c} / {f}"

    def degrees(self, kelvin: float) -> str:
        """A difference of temperature."""
        return f"{kelvin * 1.8:.0f} °F" if self.us else f"{_trim(kelvin, 1)} °C"

    def mass(self, grams: float) -> str:
        """A mass of fish."""
        if self.us:
            if grams < _G_PER_LB * 0.95:
                return f"{grams / _G_PER_OZ:.0f} oz"
            return f"{_quarters(grams / _G_PER_LB)} lb"
        return f"{grams:.0f} g" if grams < 1000 else f"{_trim(grams / 1000, 2)} kg"

    def weigh(self, grams: float) -> str:
        """A mass to put on the scale: grams always, since a cup of salt is no measure."""
        grams = float(f"{grams:.3g}")
        if self.us:
            light = round(grams / _G_PER_OZ, 1)
            lb, oz = divmod(round(grams / _G_PER_OZ), 16)
            ounces = f"{light:.1f} oz" if light < 16 else f"{lb} lb {oz} oz"
            return f"{grams:.0f} g ({ounces})"
        return f"{grams:.0f} g"

    def volume(self, ml: float) -> str:
        """A volume of water or brine."""
        if self.us:
            if ml >= _ML_PER_GALLON * 0.98:
                return f"{_quarters(ml / _ML_PER_GALLON)} gal"
            if ml >= _ML_PER_QUART * 0.98:
                return f"{_quarters(ml / _ML_PER_QUART)} qt"
            return f"{_quarters(ml / _ML_PER_CUP)} cups"
        return f"{ml:.0f} ml" if ml < 1000 else f"{_trim(ml / 1000, 1)} L"

    def length(self, mm: float) -> str:
        """A thickness."""
        return f"{_quarters(mm / _MM_PER_IN)} in" if self.us else f"{mm:.0f} mm"

    def clock(self, moment: datetime) -> str:
        """A clock time with the day where it is not today's."""
        local, today = self._local(moment), self._local(self.now).date()
        days = (local.date() - today).days
        if days == 0:
            return self._time(local)
        names = {1: "tomorrow", -1: "yesterday"}
        day = names.get(days) or (f"{local:%a}" if 0 < days < 7 else f"{local:%a} {local.day} {local:%b}")
        return f"{day} {self._time(local)}"

    def soon(self, moment: datetime) -> str:
        """A clock time that lies ahead, or "now"."""
        return "now" if moment <= self.now else self.clock(moment)

    def at(self, moment: datetime) -> str:
        """A clock time as a phrase: "at 6:10 am", "yesterday 8:00 pm"."""
        same_day = self._local(moment).date() == self._local(self.now).date()
        return f"at {self.time(moment)}" if same_day else self.clock(moment)

    def time(self, moment: datetime) -> str:
        """A clock time alone."""
        return self._time(self._local(moment))

    def day_time(self, moment: datetime) -> str:
        """A clock time with its weekday, for tables of times."""
        local = self._local(moment)
        return f"{local:%a} {self._time(local)}"

    def day(self, moment: datetime) -> str:
        """A date."""
        local = self._local(moment)
        return f"{local:%a} {local.day} {local:%b}"

    def between(self, early: datetime, late: datetime) -> str:
        """A range of clock times."""
        if self._local(early).date() == self._local(late).date():
            return f"{self.clock(early)}–{self.time(late)}"
        return f"{self.clock(early)} – {self.clock(late)}"

    def spread(self, early: datetime, late: datetime, about: datetime) -> str:
        """A range in brackets behind a best guess, without its day where that is the same."""
        day = self._local(about).date()
        first, last = (self.time(t) if self._local(t).date() == day else self.clock(t) for t in (early, late))
        return f"({first}–{last})"

    def _local(self, moment: datetime) -> datetime:
        return moment.astimezone(ZoneInfo(self.zone))

    def _time(self, local: datetime) -> str:
        if self.us:
            return f"{local.hour % 12 or 12}:{local:%M} {'am' if local.hour < 12 else 'pm'}"
        return f"{local:%H:%M}"


def span(length: timedelta) -> str:
    """A length of time in hours and minutes, or days where it is long."""
    minutes = round(length / timedelta(minutes=1))
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 48 * 60:
        hours, rest = divmod(minutes, 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    days = _trim(minutes / 1440, 1)
    return f"{days} days"


def hours(value: float) -> str:
    """A number of hours in words of hours and minutes."""
    return span(timedelta(hours=value))


def percent(value: float, digits: int = 1) -> str:
    """A percentage."""
    return f"{value:.{digits}f} %"


def join(words: list[str]) -> str:
    """Words in a row: "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def _trim(value: float, digits: int) -> str:
    text = f"{round(value, digits) + 0.0:.{digits}f}"  # adding zero makes minus nothing nothing
    return text.rstrip("0").rstrip(".") if "." in text else text


def _fahrenheit(celsius: float) -> str:
    """Whole degrees, but next to a limit: 62.6 °C must not read as the 145 °F that it falls short of."""
    degrees = celsius * 1.8 + 32.0
    near_limit = round(degrees) in _LIMITS_F and abs(degrees - round(degrees)) > 0.12
    return f"{degrees:.1f}" if near_limit else _trim(degrees, 0)


def _quarters(value: float) -> str:
    nearest = Fraction(round(value * 4), 4)
    if value < 10 and abs(float(nearest) - value) < 0.03:
        whole, part = divmod(nearest, 1)
        mark = _VULGAR.get(part, "")
        return f"{whole or ''}{mark}" or "0"
    return _trim(value, 1)
