"""Read which smoker a batch is in, and wishes about what was learned: "in the drum", "forget that batch"."""

from __future__ import annotations

import re
from dataclasses import replace

from bot.understanding.likeness import month_of
from bot.understanding.model import Heard

#: Smokers that need no name of their own; other words for one mean any smoker.
KINDS = ("drum", "barrel", "box", "kettle", "cabinet")
_KINDS = "|".join(KINDS)
_SIZE = "(?:big|small|little|old|new|red|blue|green|black|white|second|other) "
_IN = re.compile(
    rf"\b(?:in|on|with|using|use|into|from|for) (?:the|my|our) (?P<rig>(?:{_SIZE})?(?:{_KINDS}))(?: smoker)?\b"
)
_CALLED = re.compile(
    r"\b(?:(?:my|the|our|this) (?:smoker|rig) is (?:called|named)|call (?:my|the|our|this) (?:smoker|rig)) "
    r"(?P<rig>[a-z][a-z' ]{1,24}?)\s*[.!]?$"
)
#: A box alone is for ice, bait and post as well.
_SMOKES = re.compile(r"\b(smok\w*|dry\w*|brin\w*|batch|fillets?|lb|kg|know)\b")
_VERB = r"forget|leave out|ignore|disregard|don't count|do not count|don't learn from|unlearn|take out"
_WHICH = (
    r"(?:that|this|the last|the|last|my last) (?:[a-z]+ ){0,2}batch|(?:the|that) (?:one|batch) (?:in|from|of) [a-z]+"
)
_FORGET = re.compile(
    rf"\s*(?:please )?(?:{_VERB})(?: what you learned from)? (?P<which>{_WHICH})(?: out| please| again)*\s*[.!]?\s*"
)
_ORDINARY = frozenset({"that", "this", "the", "last", "my", "batch", "one", "in", "from", "of"})


def rig_named(text: str) -> str | None:
    """Return the smoker's name in a message, without its article; None where none is named."""
    called = _CALLED.search(text)
    if called is not None:
        name = called["rig"].removesuffix(" smoker").strip()
        return name.removeprefix("the ") if name.split()[-1] in KINDS else name
    found = _IN.search(text)
    if found is None or (found["rig"].endswith("box") and not _SMOKES.search(text)):
        return None
    return found["rig"]


def without_rig(text: str) -> str:
    """The message without the words for the smoker: before there is a batch nothing is put into it yet."""
    return _IN.sub("", text)


def with_rig(heard: tuple[Heard, ...], rig: str) -> tuple[Heard, ...]:
    """The things heard, with the smoker in the first description or question, or as one more description."""
    for i, one in enumerate(heard):
        if one.intent == "describe" or (one.intent == "ask" and one.topic == "rig"):
            return (*heard[:i], replace(one, slots={**one.slots, "rig": rig}), *heard[i + 1 :])
    if any(h.intent in ("ask", "reading") for h in heard):
        return heard
    useful = tuple(h for h in heard if h.intent != "chat")
    return (*useful, Heard("describe", {"rig": rig}))


def read_forgetting(text: str) -> Heard | None:
    """Return the wish that a batch no longer teaches anything; None where the message is none."""
    found = _FORGET.fullmatch(text)
    if found is None:
        return None
    named = [word for word in found["which"].split() if word not in _ORDINARY]
    which = month_of(found["which"]) or (" ".join(named) or ("last" if "last" in found["which"] else "that"))
    return Heard("correct", {"forget": which})
