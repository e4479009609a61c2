"""Compare what was said with what a written conversation expects, and show where they part."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from zoneinfo import ZoneInfo

from bot.doors.demo_file import Expected, Part
from bot.doors.said import Said
from bot.doors.wanted import WantedFact, text_agrees


def difference(part: Part, said: Sequence[Said], zone: ZoneInfo) -> str | None:
    """None where ``said`` is what the part expects, in order; else where and how they part."""
    expected = part.expected

    @cache
    def reach(i: int, j: int) -> tuple[int, int]:
        """The furthest state from here; the end of both means that all fit."""
        best = (i, j)
        steps = []
        if i < len(expected) and expected[i].rest:
            steps = [(i + 1, j), (i, j + 1)] if j < len(said) else [(i + 1, j)]
        elif i < len(expected) and j < len(said) and not _misfits(expected[i], said[j], zone):
            steps = [(i + 1, j + 1)]
        for step in steps:
            best = max(best, reach(*step))
        return best

    i, j = reach(0, 0)
    if (i, j) == (len(expected), len(said)):
        return None
    wanted = expected[i] if i < len(expected) else None
    return _describe(part, wanted, said[j] if j < len(said) else None, zone)


def _misfits(wanted: Expected, said: Said, zone: ZoneInfo) -> list[str]:
    """Why a message is not the expected one; nothing where it is."""
    why = []
    if wanted.at is not None and not wanted.at.agrees(said.at, zone):
        why.append(f"at {wanted.at.written}: it was said at {said.at.astimezone(zone):%a %H:%M}")
    if wanted.text is not None and not text_agrees(wanted.text, said.text):
        why.append("the words differ")
    if wanted.buttons is not None and wanted.buttons != said.buttons:
        why.append(f"buttons {_buttons(wanted.buttons)}: they are {_buttons(said.buttons) or 'none'}")
    why.extend(line for fact in wanted.facts if (line := _fact_misfit(fact, said, zone)))
    return why


def _fact_misfit(wanted: WantedFact, said: Said, zone: ZoneInfo) -> str | None:
    if any(wanted.agrees(fact, zone) for fact in said.facts):
        return None
    of_kind = [fact for fact in said.facts if fact.get("kind") == wanted.kind]
    if not of_kind:
        kinds = ", ".join(str(fact.get("kind")) for fact in said.facts) or "none"
        return f"facts> {wanted.written}: no such kind among its facts ({kinds})"
    unmet = min((wanted.unmet(fact, zone) for fact in of_kind), key=len)
    return f"facts> {wanted.written}: {'; '.join(unmet)}"


def _describe(part: Part, wanted: Expected | None, said: Said | None, zone: ZoneInfo) -> str:
    line = wanted.line if wanted is not None else part.line
    lines = [f"line {line}:"]
    if wanted is not None:
        lines += _block("expected", wanted.text if wanted.text is not None else _facts(wanted))
    else:
        lines += ["    expected    nothing more"]
    if said is None:
        return "\n".join([*lines, "    said        nothing more"])
    lines += _block(f"said {said.at.astimezone(zone):%H:%M}", said.text)
    if wanted is not None:
        lines += [f"    because     {why}" for why in _misfits(wanted, said, zone)]
    return "\n".join(lines)


def _block(title: str, text: str) -> list[str]:
    first, *more = text.splitlines() or [""]
    return [f"    {title:12}{first}", *(f"    {'':12}{line}" for line in more)]


def _facts(wanted: Expected) -> str:
    return "\n".join(f"facts> {fact.written}" for fact in wanted.facts)


def _buttons(labels: Sequence[str]) -> str:
    return " ".join(f"[{label}]" for label in labels)
