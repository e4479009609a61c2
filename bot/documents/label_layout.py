"""Fit a label's paragraphs around its QR code, as large as they will go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.documents import words
from bot.documents.label_text import Part, label_parts
from bot.documents.records import Label
from bot.pictures.lettering import MISSING, fitting, text_width

#: Letter sizes of the body. At the smallest an x is 0.96 mm high: EU food labels ask for 0.9 mm or more
#: on the smallest packs (Regulation 1169/2011, article 13, as remembered).
SIZES_MM = (*(round(4.2 - 0.15 * n, 2) for n in range(17)), 1.75)
LEADING = 1.22
BETWEEN, TIGHT = 0.25, 0.08  #: between paragraphs, in letters; tight where letters are small
SMALL_MM = 2.0
SLACK = 0.98  #: of the width: printers and hinting differ a little
GAP_MM = 2.0
MOST_LINES = range(8, 0, -1)  #: for each free text, once the smallest letters do not fit

Word = tuple[str, bool]


class LabelTooSmall(ValueError):
    """The cautions do not fit: a safe label of this size cannot be made."""


@dataclass(frozen=True)
class Run:
    """Words of one weight at a place: left end and baseline from the label's top left corner [mm]."""

    x_mm: float
    y_mm: float
    size_mm: float
    text: str
    bold: bool


@dataclass(frozen=True)
class Layout:
    """A label laid out: its words, its QR code's square (left, top, side) [mm], and what was cut."""

    runs: tuple[Run, ...]
    qr_mm: tuple[float, float, float]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Box:
    width: float
    height: float
    pad: float

    @property
    def qr(self) -> tuple[float, float, float]:
        side = min(self.height * 0.5, self.width * 0.3, 26.0)
        return self.width - self.pad - side, self.pad, side

    def room(self, y: float) -> float:
        """Width for a line whose top is at ``y``: narrower beside the code."""
        left, top, side = self.qr
        right = left - GAP_MM if y < top + side else self.width - self.pad
        return (right - self.pad) * SLACK


def lay_out(label: Label, width_mm: float, height_mm: float, pad_mm: float = 3.0) -> Layout:
    """The layout for a label of this size with ``pad_mm`` free at each edge; raises LabelTooSmall."""
    box, parts = _Box(width_mm, height_mm, pad_mm), label_parts(label)
    size = f"{width_mm:.0f} x {height_mm:.0f} mm"
    tries = [(letters, None) for letters in SIZES_MM] + [(SIZES_MM[-1], most) for most in MOST_LINES]
    for letters, most in tries:
        flowed = _flow(parts, letters, box, most)
        if flowed:
            runs, kept = flowed
            return Layout(tuple(runs), box.qr, _notes(parts, kept, size))
    raise LabelTooSmall(words.too_small(size))


def _notes(parts: Sequence[Part], kept: Sequence[int], size: str) -> tuple[str, ...]:
    notes = [
        words.cut_note(part.free, part.had, count, size)
        for part, count in zip(parts, kept, strict=True)
        if part.free and count < part.had
    ]
    if any(MISSING in piece.text for part in parts for piece in part.pieces):
        notes.append(words.missing_letters_note())
    return tuple(notes)


def _flow(parts: Sequence[Part], letters: float, box: _Box, most: int | None) -> tuple[list[Run], list[int]] | None:
    """Runs and how much of each part is kept, or None where the label is too small for it."""
    runs: list[Run] = []
    kept: list[int] = []
    y = box.pad
    for part in parts:
        em = letters * part.size
        rest = [(word, piece.bold) for piece in part.pieces for word in piece.text.split(" ")]
        left_off = lines = 0
        while rest:
            line, rest = _take(rest, em, box.room(y))
            lines += 1
            if rest and part.gives_way and lines == most:
                left_off, rest = sum(len(word) for word, _ in rest), []
                line, lost = _with_ellipsis(line, em, box.room(y))
                left_off += lost
            runs += _runs(line, em, (box.pad, y + em))
            y += em * LEADING
            if y > box.height - box.pad + em * (LEADING - 1):
                return None
        kept.append(min(part.length, part.had) - left_off - _already_cut(part))
        y += (BETWEEN if letters > SMALL_MM else TIGHT) * letters
    return runs, kept


def _already_cut(part: Part) -> int:
    """One for the ellipsis of a text that was cut before it came here."""
    return 1 if part.free and part.pieces[-1].text.endswith("…") and part.length < part.had else 0


def _take(rest: list[Word], em: float, room: float) -> tuple[list[Word], list[Word]]:
    """Words that fill one line, and those that are left."""
    wide = 0.0
    for n, (word, bold) in enumerate(rest):
        step = text_width(word, em, bold) + (text_width(" ", em) if n else 0)
        if wide + step > room:
            if n:
                return rest[:n], rest[n:]
            cut = fitting(word, room, em, bold)
            return [(word[:cut], bold)], ([(word[cut:], bold)] if word[cut:] else []) + rest[1:]
        wide += step
    return rest, []


def _with_ellipsis(line: list[Word], em: float, room: float) -> tuple[list[Word], int]:
    """The line with an ellipsis at its end, and how many letters it cost."""
    before = sum(len(word) for word, _ in line)
    while True:
        (word, bold), head = line[-1], line[:-1]
        if _wide([*head, (word + "…", bold)], em) <= room or (not head and len(word) <= 1):
            return [*head, (word + "…", bold)], before - len(word) - sum(len(w) for w, _ in head)
        line = [*head, (word[:-1], bold)] if len(word) > 1 else head


def _wide(line: Sequence[Word], em: float) -> float:
    return sum(text_width(word, em, bold) for word, bold in line) + text_width(" ", em) * (len(line) - 1)


def _runs(line: Sequence[Word], em: float, start: tuple[float, float]) -> list[Run]:
    """Neighbouring words of one weight together, from the left end of the line's baseline."""
    runs: list[Run] = []
    x, baseline = start
    for word, bold in line:
        if runs and runs[-1].bold is bold:
            last = runs.pop()
            runs.append(Run(last.x_mm, baseline, em, f"{last.text} {word}", bold))
        else:
            runs.append(Run(x, baseline, em, word, bold))
        x = runs[-1].x_mm + text_width(runs[-1].text, em, bold) + text_width(" ", em)
    return runs
