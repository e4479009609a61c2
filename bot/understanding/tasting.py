"""Read how a finished batch tasted: "a bit dry", "perfect", "too salty but lovely"."""

from __future__ import annotations

import re
import tomllib
from functools import cache

from bot.understanding.lexicon import read_lexicon
from bot.understanding.model import Context, Heard

#: A verdict on a meal is short; a longer message tells something else.
_LONGEST = 14
#: Words by which a meal is spoken of.
_MEAL = re.compile(r"\b(taste[sd]?|tasting|ate|eaten|eating|had it|was|were|turned out|came out|flavou?r)\b")
_DENIED = re.compile(r"\b(?:not|isn't|wasn't|never|weren't|aren't|nothing)\b[\w ]{0,12}$")
_ELSE = re.compile(r"[?\d]|\b(brine|skin|surface|racks?|air|fan|next|new batch|weather|core|fridge|chamber)\b")


@cache
def _phrases() -> tuple[tuple[re.Pattern[str], str], ...]:
    """Return (phrase, meaning), the longest phrase first."""
    data = tomllib.loads(read_lexicon("taste.toml"))
    every = sorted(((phrase, key) for key, said in data.items() for phrase in said), key=lambda p: -len(p[0]))
    return tuple((re.compile(rf"\b{re.escape(phrase)}\b"), key) for phrase, key in every)


def read_tasting(text: str, context: Context) -> Heard | None:
    """Return what a message says of a finished batch; None where no batch is finished or it says nothing of it."""
    asked = context.rung is not None and context.rung.what == "taste"
    if not asked and context.stage != "keep":
        return None
    if len(text.split()) > _LONGEST or _ELSE.search(text):
        return None
    said = _said(text)
    if not said or (not asked and said == ["just_right"] and not _MEAL.search(text)):
        return None
    return Heard("event", {"what": "tasted", "tasted": said})


def _said(text: str) -> list[str]:
    """The meanings in the words, each once; "lovely but a bit dry" is a bit dry."""
    found: dict[str, int] = {}
    for phrase, key in _phrases():
        hit = phrase.search(text)
        if hit is None:
            continue
        denied = _DENIED.search(text[: hit.start()]) is not None
        text = f"{text[: hit.start()]}{'|' * (hit.end() - hit.start())}{text[hit.end() :]}"
        if not denied:
            found[key] = min(found.get(key, hit.start()), hit.start())
    said = sorted(found, key=lambda key: found[key])
    return [key for key in said if key != "just_right"] or said
