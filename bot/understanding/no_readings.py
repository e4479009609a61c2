"""Mark figures that are no readings: settings of a dial, bounds, hopes, numbers of probes, smudged digits."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.labels import amount_at, hour_like, slot_of
from bot.understanding.model import Context, Doubt
from bot.understanding.reading import Reading
from bot.understanding.tense import negated
from bot.understanding.vocabulary import strange
from bot.understanding.wordlists import words

_SET = words("readings", "set")
_RELATIVE = words("readings", "relative")
_HOPED = words("readings", "hoped")
_PRICED = (["cost"], ["costs"], ["paid"], ["price"], ["costing"])
_WEATHER = (["it's"], ["its"], ["it"], ["only"], ["still"])  # "it's 62 out"
_HOTTEST = (["highest"], ["hottest"], ["warmest"], ["high"], ["max"])
_COLDEST = frozenset({"lowest", "coldest", "low", "min"})
_NEARLY = words("readings", "nearly")


def set_aside(sheet: Sheet, span: tuple[int, int], context: Context) -> bool:
    """Mark what a dial is set to, "4 degrees under", "under 145": no readings; return True if a dial was set."""
    dial = False
    for i in range(*span):
        if amount_at(sheet, i) is None or hour_like(sheet.items[i]):
            continue
        start = next((j + 1 for j in range(i - 1, span[0] - 1, -1) if sheet.items[j].quantity is not None), span[0])
        before = [w.removesuffix("'s") for text in sheet.words(max(start, i - 4), i) for w in text.split()]
        chamber = any(slot_of(sheet.items[j]) == "chamber_c" for j in range(max(span[0], i - 6), i))
        counted = i + 1 < span[1] and sheet.items[i + 1].kind == "word" and bool(strange(sheet, (i + 1, i + 2)))
        priced = i + 1 < span[1] and sheet.items[i + 1].when is None
        counted = counted or (priced and sheet.text(i + 1).split()[:1] in (["a"], ["an"], ["per"]))  # 4.50 a gallon
        relative = (
            counted  # "140 bpm": a figure of something else
            or before[-1:] in _PRICED
            or (sheet.text(i + 1) == "out" and before[-1:] in _WEATHER)
            or (before[-1:] in _HOTTEST and bool(_tokens(sheet, span) & _COLDEST))  # the coldest counts
            or sheet.text(i + 1) in _RELATIVE
            or negated(before)
            or (not chamber and _not_there(before, _tokens(sheet, span)))
        )
        was_set = bool(set(before) & _SET)
        upper = before[-1:] and before[-1] in {"under", "below", "beneath"} and context.stage in {"smoke", "dry"}
        lower = before[-1:] and before[-1] in {"over", "above", "past"} and context.stage in {"cool", "chill", "keep"}
        if relative or was_set or upper or lower:
            sheet.take(i, i, "reading: not a reading but a setting or a bound", sheet.text(i))
            dial = dial or was_set
    return dial


def _tokens(sheet: Sheet, span: tuple[int, int]) -> set[str]:
    return set(" ".join(sheet.words(*span)).split())


def _not_there(before: list[str], said: set[str]) -> bool:
    """True where a figure is hoped for, not read: "hasn't hit 150 yet", "nearly 145", "should hit 145 soon"."""
    if "forgot" in before and not negated(before):
        before = before[before.index("forgot") + 1 :]  # "almost forgot, core 141"
    text = f" {' '.join(before)} "
    return (
        negated(before)
        or bool(set(before) & _HOPED)
        or any(f" {cue} " in text for cue in _NEARLY)
        or bool(said & {"soon"})
    )


def numbered(sheet: Sheet, span: tuple[int, int]) -> None:
    """Mark the 1 of "probe 1 142" and "rack 2 150" as a name."""
    for i in range(span[0] + 1, span[1] - 1):
        first = amount_at(sheet, i)
        named = sheet.items[i - 1].text in {"probe", "rack", "tray", "shelf", "sensor", "channel", "ch"}
        if named and first is not None and first.kind == "bare" and first.value in range(1, 21):
            following = next(
                (amount_at(sheet, j) for j in range(i + 1, min(i + 3, span[1])) if amount_at(sheet, j)), None
            )
            if following is not None:
                sheet.take(i, i, "reading: number of a probe or rack", sheet.text(i))


def smudged(sheet: Sheet, span: tuple[int, int]) -> list[Reading]:
    """Question a figure with letters in it beside a label."""
    found = []
    for i in range(span[0] + 1, span[1]):
        if sheet.items[i].kind != "smudge":
            continue
        j = i - 1
        while j > span[0] and sheet.text(j) in {"is", "at", "=", ":", "was", "now", "reads", "says"}:
            j -= 1
        slot = slot_of(sheet.items[j])
        if slot is not None:
            found.append(Reading({}, i, slot, Doubt(slot, (), "unclear figure")))
            sheet.take(j, i, "reading: a figure with letters in it", "unclear")
    return found
