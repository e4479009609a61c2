"""Accuracy and time of understanding, beside general-purpose libraries on the parts that they do.

Run as ``python -m tests.benchmarks.bench_understanding``. The general-purpose libraries are those of the ``bench``
extra; one that is not installed is left out of the table. Messages and what they mean come from the corpus of the
tests; a library is asked only for those parts that such a library claims: moments, and amounts with their units.
"""

from __future__ import annotations

import importlib
import statistics
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pint

from bot.understanding import Context, understand
from tests.bot.understanding.corpus import Case, cases, contexts, heard_of

_TIMES = frozenset({"at", "soak_start", "soak_end", "ready_by", "start_at", "caught_at"})
_AMOUNTS = {
    "mass_g": "gram", "thickness_mm": "millimeter", "core_c": "degC", "chamber_c": "degC", "air_c": "degC",
    "fridge_c": "degC", "salt_g": "gram", "sugar_g": "gram", "water_ml": "milliliter",
}  # fmt: skip
#: A message of 4,096 characters, such as a pasted recipe is.
_LONG = (
    "Rinse the fish and pat dry, then mix 1 cup of salt with 4 cups of brown sugar and coat the fillets. "
    "Leave it in the fridge overnight at 38 degrees. Smoke at 180 until the core reads 150. "
) * 25


@dataclass(frozen=True)
class Wanted:
    """One message with the moments and the amounts (unit, value) that it holds."""

    case: Case
    context: Context
    moments: tuple[datetime, ...]
    amounts: tuple[tuple[str, float], ...]


def wanted() -> list[Wanted]:
    """Return the messages of the corpus that hold a moment or an amount."""
    found = []
    for case in cases():
        context = contexts()[case.context]
        heard = [heard_of(line, ZoneInfo(context.zone)) for line in case.heard]
        slots = [(k, v) for h in heard for k, v in h.slots.items()]
        moments = tuple(datetime.fromisoformat(v) for k, v in slots if k in _TIMES)
        amounts = tuple((_AMOUNTS[k], float(v)) for k, v in slots if k in _AMOUNTS)
        if moments or amounts:
            found.append(Wanted(case, context, moments, amounts))
    return found


Moments = Callable[[str, Context], Iterable[datetime]]
Amounts = Callable[[str], Iterable[tuple[str, float]]]


def _ours_moments(text: str, context: Context) -> list[datetime]:
    told = understand(text, context)
    return [datetime.fromisoformat(v) for h in told.heard for k, v in h.slots.items() if k in _TIMES]


def _dateparser(text: str, context: Context) -> list[datetime]:
    search = importlib.import_module("dateparser.search")
    naive = context.now.replace(tzinfo=None)
    found = search.search_dates(text, languages=["en"], settings={"RELATIVE_BASE": naive}) or []
    return [moment.replace(tzinfo=ZoneInfo(context.zone)) for _, moment in found]


def _parsedatetime(text: str, context: Context) -> list[datetime]:
    calendar = importlib.import_module("parsedatetime").Calendar()
    found = calendar.nlp(text, sourceTime=context.now.replace(tzinfo=None)) or ()
    return [item[0].replace(tzinfo=ZoneInfo(context.zone)) for item in found]


def _quantulum(text: str) -> list[tuple[str, float]]:
    parser = importlib.import_module("quantulum3.parser")
    return [(q.unit.name.replace("-", " "), float(q.value)) for q in parser.parse(text)]


_QUANTULUM_UNITS = {
    "pound mass": "pound", "inch": "inch", "kilogram": "kilogram", "gram": "gram", "ounce": "ounce",
    "degree fahrenheit": "degF", "degree celsius": "degC", "centimetre": "centimeter", "millimetre": "millimeter",
    "litre": "liter", "gallon": "gallon", "quart": "quart", "cup": "cup",
}  # fmt: skip


def _quantulum_si(text: str) -> list[tuple[str, float]]:
    registry = pint.get_application_registry()
    found = []
    for name, value in _quantulum(text):
        unit = _QUANTULUM_UNITS.get(name)
        for target in dict.fromkeys(_AMOUNTS.values()):
            if unit and registry.Unit(unit).is_compatible_with(target):
                found.append((target, float(registry.Quantity(value, unit).to(target).magnitude)))
    return found


def _hits(got: Iterable[Any], want: Iterable[Any], same: Callable[[Any, Any], bool]) -> int:
    left = list(got)
    hits = 0
    for item in want:
        match = next((g for g in left if same(g, item)), None)
        if match is not None:
            left.remove(match)
            hits += 1
    return hits


def _timed(call: Callable[[], Any]) -> tuple[Any, float]:
    start = time.perf_counter()
    try:
        result = call()
    except Exception:
        result = []
    return result, (time.perf_counter() - start) * 1e3


def _row(name: str, right: int, of: int, times: list[float]) -> None:
    ordered = sorted(times)
    p99 = ordered[min(len(ordered) - 1, int(len(ordered) * 0.99))]
    print(f"{name:<34}{right:>5} of {of:<5} {right / of:>6.1%}   {statistics.median(times):8.2f} {p99:8.2f}")


def moments_table(messages: list[Wanted]) -> None:
    """Print who finds the moments of the corpus, within a minute."""
    print(f"\n{'moments':<34}{'right':>14} {'share':>8}   {'p50 ms':>8} {'p99 ms':>8}")
    tools: list[tuple[str, str | None, Moments]] = [
        ("bot.understanding", None, _ours_moments),
        ("dateparser.search_dates (en)", "dateparser", _dateparser),
        ("parsedatetime.nlp", "parsedatetime", _parsedatetime),
    ]
    timed = [w for w in messages if w.moments]
    for name, module, tool in tools:
        if module is not None and importlib.util.find_spec(module) is None:
            continue
        right, times = 0, []
        for w in timed:
            got, ms = _timed(lambda w=w, tool=tool: list(tool(w.case.said, w.context)))  # type: ignore[misc]
            times.append(ms)
            right += _hits(got, w.moments, lambda g, m: abs((g - m).total_seconds()) <= 60)
        _row(name, right, sum(len(w.moments) for w in timed), times)


def amounts_table(messages: list[Wanted]) -> None:
    """Print who finds the amounts of the corpus whose unit was said or is plain."""
    print(f"\n{'amounts':<34}{'right':>14} {'share':>8}   {'p50 ms':>8} {'p99 ms':>8}")
    told = [w for w in messages if w.amounts]

    def same(got: tuple[str, float], want: tuple[str, float]) -> bool:
        return got[0] == want[0] and abs(got[1] - want[1]) <= max(0.002, abs(want[1]) * 1e-3)

    def ours(w: Wanted) -> list[tuple[str, float]]:
        heard = understand(w.case.said, w.context).heard
        return [(_AMOUNTS[k], float(v)) for h in heard for k, v in h.slots.items() if k in _AMOUNTS]

    tools: list[tuple[str, str | None, Callable[[Wanted], list[tuple[str, float]]]]] = [
        ("bot.understanding", None, ours),
        ("quantulum3 (no classifier) + pint", "quantulum3", lambda w: _quantulum_si(w.case.said)),
    ]
    for name, module, tool in tools:
        if module is not None and importlib.util.find_spec(module) is None:
            continue
        right, times = 0, []
        for w in told:
            got, ms = _timed(lambda w=w, tool=tool: tool(w))  # type: ignore[misc]
            times.append(ms)
            right += _hits(got, w.amounts, same)
        _row(name, right, sum(len(w.amounts) for w in told), times)


def time_table() -> None:
    """Print the time of a whole message over the corpus, and of a text of 4,096 characters."""
    times = []
    for case in cases():
        context = contexts()[case.context]
        times.append(_timed(lambda case=case, context=context: understand(case.said, context))[1])  # type: ignore[misc]
    ordered = sorted(times)
    print(f"\nwhole messages: {len(times)}, median {statistics.median(times):.2f} ms (aim 2), ", end="")
    print(f"p99 {ordered[int(len(ordered) * 0.99)]:.2f} ms, most {ordered[-1]:.2f} ms")
    context = contexts()["smoking"]
    long = [_timed(lambda: understand(_LONG[:4096], context))[1] for _ in range(20)]
    print(f"a text of 4,096 characters: median {statistics.median(long):.1f} ms, most {max(long):.1f} ms (aim 50)")


def main() -> None:
    """Print all tables."""
    understand("core 128f chamber 190", contexts()["smoking"])  # word lists are read once
    messages = wanted()
    print(f"{len(cases())} messages of the corpus, {len(messages)} of them with a moment or an amount")
    moments_table(messages)
    amounts_table(messages)
    time_table()


if __name__ == "__main__":
    main()
