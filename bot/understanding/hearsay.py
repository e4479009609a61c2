"""Keep apart what is told of this fish, here and now, from what others have, what was once, and what was not done."""

from __future__ import annotations

from bot.understanding.items import Sheet
from bot.understanding.model import Heard, Piece
from bot.understanding.statements import Told
from bot.understanding.wordlists import words

#: Slots that make a description one of a batch, whatever else stands in the sentence.
_BATCH = frozenset({"species", "mass_g", "thickness_mm", "form", "pieces", "lots"})
#: Slots of a time alone.
_TIMES = frozenset({"ready_by", "start_at", "soak_end", "soak_start", "smoke_at"})
_JOINTS = words("statements", "joints") | {";", "while"}
_OURS = words("others", "ours")
_TOOLS = words("others", "tools")
_FRIENDS = words("others", "friends")
_FAMILY = words("others", "family")
_HABITS = words("others", "habits")
_GIVING = words("others", "giving")
_HAVING = words("others", "having")
_DETERMINERS = frozenset({"my", "a", "an", "our", "the", "his", "her", "your", "another", "other", "one", "some"})
_REPORTING = words("tense", "reporting")
_IF = frozenset({"if", "were", "suppose", "supposing", "imagine"})
Span = tuple[int, int]


def without_hearsay(told: list[Told], sheet: Sheet) -> list[Told]:
    """Drop what is not told of this fish: what others say or have, earlier batches, hopes, and what nearly happened."""
    kept = told
    for first, last in sheet.sentences():
        clauses = _clauses(sheet, first, last)
        heard = _cue(sheet, first, last)
        others = _others(sheet, clauses)
        old = _of_old(sheet, clauses, told)
        kept = [
            t
            for t in kept
            if not first <= t.at < last
            or not (
                (heard is not None and _within(t.at, heard, clauses, sheet) and _claims(t.heard))
                or (others is not None and _within(t.at, others[0], clauses, sheet) and _is_of(t.heard, others[1]))
                or any(span[0] <= t.at < span[1] and _of_now(t.heard, usual) for span, usual in old)
                or _not_done(t, sheet, clauses)
                or _supposed(t, sheet, clauses)
            )
        ]
    if len(kept) < len(told):
        sheet.pieces.append(Piece("what others say or did, a hope or a bet", "hearsay", "not taken"))
    return kept


def told_by_others(sheet: Sheet) -> bool:
    """True if words of hearsay, a hope or a bet, or of another's fish, stand anywhere in a message."""
    return any(
        _cue(sheet, first, last) is not None or _others(sheet, _clauses(sheet, first, last)) is not None
        for first, last in sheet.sentences()
    )


def _clauses(sheet: Sheet, first: int, last: int) -> list[Span]:
    starts = [first, *(i + 1 for i in range(first, last) if sheet.text(i) in _JOINTS)]
    return [(a, b) for a, b in zip(starts, [*starts[1:], last], strict=True) if b > a]


def _within(at: int, cue: int, clauses: list[Span], sheet: Sheet) -> bool:
    """True from the cue on, until a later clause turns back to us: "…, mine is at 140"."""
    if at < cue:
        return False
    between = [clause for clause in clauses if cue < clause[0] <= at]
    return not any(_turns_back(sheet, clause) for clause in between)


def _turns_back(sheet: Sheet, clause: Span) -> bool:
    begins = [w for text in sheet.words(clause[0], min(clause[1], clause[0] + 3)) for w in text.split()]
    if set(begins[:2]) & {"my", "our"}:
        return not set(begins) & (_FRIENDS | _FAMILY)
    return bool(set(begins) & _OURS)


def _of_now(heard: Heard, usual: bool) -> bool:
    """True for a reading, an event or a time, and for a recipe unless it is the usual one: all of this fish now."""
    if heard.intent != "describe":
        return heard.intent in {"reading", "event"}
    return set(heard.slots) <= _TIMES or not (usual or (_BATCH | {"caught_at"}) & heard.slots.keys())


def _claims(heard: Heard) -> bool:
    if heard.intent in ("reading", "event"):
        return True
    return heard.intent in ("describe", "correct") and not _BATCH & heard.slots.keys()


def _is_of(heard: Heard, whole: bool) -> bool:
    """True for all that is told of another's fish; for the recipe alone where only a habit was told."""
    return (heard.intent == "describe" and (whole or not _BATCH & heard.slots.keys())) or (
        heard.intent in {"reading", "event", "correct"}
    )


def _others(sheet: Sheet, clauses: list[Span]) -> tuple[int, bool] | None:
    """Return where another's fish or habit begins to be told of, and whether a batch told of is theirs too."""
    for first, last in clauses:
        for i in range(first, last):
            for word in sheet.text(i).split():
                found = _another(sheet, i, word, last)
                if found is not None:
                    return (first if _owned(word) else i), found
    return None


def _owned(word: str) -> bool:
    """True for "his" and "buddy's", which may stand behind what is told of them."""
    return "'" in word or word in {"his", "theirs", "hers", "their", "her", "your"}


def _another(sheet: Sheet, i: int, word: str, last: int) -> bool | None:
    """Return whether a batch told of is another's too, None where nothing of theirs is told."""
    behind = [w for text in sheet.words(i + 1, min(last, i + 4)) for w in text.split()]
    owner = word.removesuffix("'s").removesuffix("s'")
    person = owner in _FRIENDS or owner in _FAMILY or _stranger(sheet, i, owner)
    person = person or (owner == "door" and sheet.text(i - 1) == "next")
    if person and word != owner:  # "buddy's"
        if set(behind) & {"got", "smoking", "brining", "doing", "drying"}:
            return True if owner not in _FAMILY else None
        return None if not behind or set(behind[:2]) & _TOOLS else True
    if word in {"his", "theirs", "hers"} and behind:
        return None if set(behind[:2]) & _TOOLS else True
    if word in {"their", "her", "your"} and set(behind[:2]) & words("others", "owned"):
        return True
    if not person or not _is_subject(sheet, i, behind):
        return None
    if set(behind) & _GIVING:
        return None
    if owner in _FAMILY:
        return False if set(behind) & _HABITS else None
    return True if set(behind) & (_HAVING | _HABITS) else None


def _stranger(sheet: Sheet, i: int, owner: str) -> bool:
    """True for ``the other boat``, ``guy next door``."""
    return owner in words("others", "strangers") and (
        bool({"other", "another", "next"} & set(sheet.words(max(0, i - 2), i)))
        or sheet.words(i + 1, i + 3) in (["down", "the"], ["across", "the"])
        or (sheet.text(i + 1) == "next" and sheet.text(i + 2).startswith("door"))
    )


def _is_subject(sheet: Sheet, i: int, behind: list[str]) -> bool:
    """True for ``my buddy``, ``buddy of mine`` and ``buddy has``; "hey buddy, core 140" only greets."""
    before = set(sheet.words(max(0, i - 2), i))
    return bool(
        before & _DETERMINERS or behind[:2] in (["of", "mine"], ["of", "ours"]) or set(behind[:1]) & (_HAVING | _HABITS)
    )


def _of_old(sheet: Sheet, clauses: list[Span], told: list[Told]) -> list[tuple[Span, bool]]:
    """Return the stretch that tells of an earlier batch, or of what is usual, and which of the two."""
    for n, (first, last) in enumerate(clauses):
        said = [w for text in sheet.words(first, last) for w in text.split()]
        if not (_elsewhen(said) or _usual(said)):
            continue
        stop = next((a for a, b in clauses[n + 1 :] if _turns_back(sheet, (a, b))), clauses[-1][1])
        points_back = bool(set(said[:2]) & {"that", "those", "that's"})
        alone = points_back or not any(first <= t.at < last for t in told)
        start = clauses[0][0] if alone and stop == clauses[-1][1] else first
        return [((start, stop), not _elsewhen(said))]
    return []


def _elsewhen(said: list[str]) -> bool:
    """True for ``last week``; not for "like last time", "last time I looked"."""
    text = f" {' '.join(said)} "
    if any(f" {cue} " in text for cue in words("hearsay", "compared")):
        return False
    return any(f" {cue} " in text for cue in words("hearsay", "elsewhen"))


def _usual(said: list[str]) -> bool:
    return bool(set(said) & words("hearsay", "usual"))


def _not_done(told: Told, sheet: Sheet, clauses: list[Span]) -> bool:
    """True for what nearly happened, was meant or is wished: "almost added wood", "should have pulled them"."""
    timed = told.heard.intent == "describe" and set(told.heard.slots) <= _TIMES
    if not timed and told.heard.intent not in {"event", "reading"}:
        return False
    clause = next((c for c in clauses if c[0] <= told.at < c[1]), None)
    if clause is None:
        return False
    said = f" {' '.join(sheet.words(*clause))} "
    unreal = words("tense", "unreal" if told.heard.intent == "event" else "unreal_states")
    return any(f" {cue} " in said for cue in unreal) and not set(said.split()) & _REPORTING


def _supposed(told: Told, sheet: Sheet, clauses: list[Span]) -> bool:
    """True for a reading or a deed behind an "if": "if the core was at 150 I'd be in bed"."""
    clause = next((c for c in clauses if c[0] <= told.at < c[1]), None)
    timed = told.heard.intent == "describe" and set(told.heard.slots) <= _TIMES
    return (timed or told.heard.intent in {"reading", "event"}) and clause is not None and sheet.text(clause[0]) in _IF


def _cue(sheet: Sheet, first: int, last: int) -> int | None:
    """Return where words of hearsay begin, or None."""
    said = sheet.words(first, last)
    for i in range(len(said)):
        ahead = f"{' '.join(said[i : i + 6])} "
        if any(ahead.startswith(f"{cue} ") for cue in words("hearsay", "cues")):
            return first + i
    return None
