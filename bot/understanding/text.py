"""Make a message plain: one alphabet, one set of digits, no markup, bounded length."""

from __future__ import annotations

import html
import unicodedata
from dataclasses import dataclass

#: Characters that are read; the rest of a longer message is left out, and said to be.
LIMIT = 4096

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅛": "1/8",
    "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅙": "1/6", "⅚": "5/6", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
}  # fmt: skip
_PLAIN = {
    "’": "'", "‘": "'", "`": "'", "´": "'", "ʼ": "'", "“": '"', "”": '"', "″": '"', "‟": '"', "′": "'",
    "–": "-", "—": " - ", "−": "-", "‐": "-", "‑": "-", "‒": "-", "º": "°", "˚": "°", "℃": "°c", "℉": "°f",
    "×": "x", "⁄": "/", "∶": ":", "：": ":", "％": "%", "ø": "o", "ł": "l", "æ": "ae", "œ": "oe", "đ": "d",
    "ß": "ss", "…": " … ", "👍": " ok ", "👌": " ok ", "✅": " ok ", "✔": " ok ", "🆗": " ok ", "≈": " ~ ", "·": " ",
    "，": ",", "。": ".", "？": "?", "！": "!", "\t": " ", "\r": "\n",
}  # fmt: skip
_SHORTENED = (
    ("a.m.", "am"),
    ("p.m.", "pm"),
    ("r.h.", "rh"),
    ("w/o ", "without "),
    ("w/ ", "with "),
    ("o' clock", "o'clock"),
    (" n ", " and "),
    ("per cent", "percent"),
    (" rdy", " ready"),
    (" 1s", " ones"),
    (" 2nite", " tonight"),
    (" 2day", " today"),
    (" 2moro", " tomorrow"),
    (" 2morrow", " tomorrow"),
)
#: Stands for what is not read: an address, a circled or raised digit.
REFUSED = "¤"
#: Overrides that show digits in another order than they are stored.
_REORDERING = frozenset("\u202d\u202e")


@dataclass(frozen=True)
class Plain:
    """A message as it is read. ``trusted`` is false where what was seen may differ from what is stored."""

    text: str
    cut: bool = False
    trusted: bool = True


def plain(message: str) -> Plain:
    """Return ``message`` in lower case, plain letters and digits, at most LIMIT characters."""
    head = message[:LIMIT]
    if "&" in head:
        head = html.unescape(head)
    if "<" in head:
        head = _without_tags(head)
    if "://" in head or "@" in head:
        head = _without_links(head)
    kept = "".join(_plain_char(c) for c in head.lower())
    for shortened, plainly in _SHORTENED:
        kept = kept.replace(shortened, plainly)
    return Plain(kept, cut=len(message) > LIMIT, trusted=not _REORDERING & set(head))


def _plain_char(char: str) -> str:
    """Return what stands for one character: digits of any script as 0-9, letters without marks."""
    if char in "\n ":
        return char
    if char.isascii():
        return char if char.isprintable() else " "
    if char in _VULGAR:
        return f" {_VULGAR[char]}"
    if char in _PLAIN:
        return _PLAIN[char]
    return _folded(char)


def _folded(char: str) -> str:
    digit = unicodedata.decimal(char, None)
    if digit is not None:
        return str(digit)
    kind = unicodedata.category(char)
    if kind in {"Cf", "Mn", "Me"}:
        return ""  # zero-width, marks: what is seen is the rest
    if kind[0] == "Z" or kind == "Cc":
        return " "
    if kind in {"No", "Nl"}:
        return REFUSED  # superscripts and circled digits are not numbers of this trade
    folded = "".join(c for c in unicodedata.normalize("NFKD", char) if unicodedata.category(c) != "Mn")
    return folded.lower() if folded.isascii() and folded.isprintable() else char


def _without_tags(text: str) -> str:
    """Put a space in place of each markup tag; a lone ``<`` stays."""
    out: list[str] = []
    i = 0
    while i < len(text):
        if text[i] == "<" and i + 1 < len(text) and (text[i + 1].isalpha() or text[i + 1] in "/!"):
            end = text.find(">", i, i + 300)
            if end > 0:
                out.append(" ")
                i = end + 1
                continue
        out.append(text[i])
        i += 1
    return "".join(out)


def _without_links(text: str) -> str:
    """Put a mark in place of each web or mail address; their figures say nothing."""
    return " ".join(REFUSED if "://" in part or _is_mail(part) else part for part in text.split(" "))


def _is_mail(part: str) -> bool:
    name, at, host = part.partition("@")
    return bool(name and at and "." in host.strip("."))
