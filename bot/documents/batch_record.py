"""The batch record as a PDF: everything the journal says, what opened each gate, and what did not."""

from __future__ import annotations

import io
from typing import Any

from bot.documents import words
from bot.documents.entry_rows import entry_rows
from bot.documents.images import image_section
from bot.documents.records import BatchRecord, Gate, PageSize
from bot.documents.sheet_style import (
    FRAME,
    GRID,
    MARGIN,
    NAME_LETTERS,
    page_width,
    paragraph,
    paragraphs,
    rows_of,
    section,
    styles,
    table_style,
)
from bot.documents.typeface import REGULAR, load_fonts
from bot.pictures.habits import clock, local, long_date
from bot.pictures.lettering import all_printable, printable, shorten
from bot.say.cautions import LOCAL_RULES

FOOT_SIZE, FOOT_ROOM = 7.0, 60.0  #: letters of the foot, and room for the batch's name in it [points]


def record_pdf(record: BatchRecord, page: PageSize = "A4") -> bytes:
    """The record as a PDF on A4 or Letter. The same record gives the same bytes."""
    from reportlab.lib import pagesizes
    from reportlab.platypus import SimpleDocTemplate

    load_fonts()
    buffer = io.BytesIO()
    size = pagesizes.A4 if page == "A4" else pagesizes.letter
    document = SimpleDocTemplate(
        buffer,
        pagesize=size,
        leftMargin=MARGIN - FRAME,
        rightMargin=MARGIN - FRAME,
        topMargin=MARGIN - FRAME,
        bottomMargin=MARGIN * 1.3,
        title=printable(f"{words.RECORD} {record.name}"),
        invariant=1,
    )

    def foot(canvas: Any, _: Any) -> None:
        canvas.saveState()
        canvas.setFont(REGULAR, FOOT_SIZE)
        canvas.drawString(MARGIN, MARGIN * 0.75, printable(LOCAL_RULES))
        number = words.page_foot(shorten(printable(record.batch), FOOT_ROOM, FOOT_SIZE), canvas.getPageNumber())
        canvas.drawRightString(size[0] - MARGIN, MARGIN * 0.75, number)
        canvas.restoreState()

    document.build(record_story(record, page), onFirstPage=foot, onLaterPages=foot)
    return buffer.getvalue()


def record_story(record: BatchRecord, page: PageSize) -> list[Any]:
    """What stands in the record, in order, as the PDF library's flowables; fonts must be loaded."""
    story = [
        paragraph(f"{words.RECORD}: {record.name}", styles().title),
        paragraph(
            words.of_batch(record.batch, record.species, _printed(record)),
            styles().quiet,
        ),
        paragraph(LOCAL_RULES, styles().strong),
        paragraph(words.at_risk(record.habit), styles().strong),
    ]
    if not _all_letters(record):
        story.append(paragraph(words.MISSING_LETTERS, styles().quiet))
    story += _summary(record, page)
    story += section(words.GATES, *_gates(record, page))
    story += section(words.OVERRIDDEN, *_overrides(record))
    story += section(words.ENTRIES, *_entries(record, page))
    for title, images in ((words.PICTURES, record.pictures), (words.PHOTOS, record.photos)):
        if images:
            story += image_section(title, images, page)
    return [*story, *_signature(page)]


def _printed(record: BatchRecord) -> str:
    day = long_date(local(record.printed_at, record.habit).date(), record.habit)
    return f"{day} {clock(record.printed_at, record.habit)}"


def _all_letters(record: BatchRecord) -> bool:
    texts = [record.name, record.species, record.batch, *(t for pair in record.summary for t in pair)]
    texts += [t for e in record.entries for t in (e.who, e.words)]
    texts += [i.caption for i in (*record.pictures, *record.photos)]
    return all(all_printable(text) for text in texts)


def _summary(record: BatchRecord, page: PageSize) -> list[Any]:
    from reportlab.platypus import Table

    if not record.summary:
        return []
    rows = [
        row
        for name, value in record.summary
        for row in rows_of([paragraph(name[:NAME_LETTERS], styles().strong)], paragraphs(value))
    ]
    wide = page_width(page)
    table = Table(rows, colWidths=[wide * 0.3, wide * 0.7], style=table_style(head=False))
    return section(words.SUMMARY, table)


def _gates(record: BatchRecord, page: PageSize) -> list[Any]:
    from reportlab.platypus import Table

    if not record.gates:
        return [paragraph(words.NO_GATES)]
    wide = page_width(page)
    head = [paragraph(name, styles().strong) for name in words.GATE_HEAD]
    rows = [head, *(row for gate in record.gates for row in _gate_rows(gate))]
    return [
        Table(
            rows,
            colWidths=[wide * 0.26, wide * 0.16, wide * 0.58],
            repeatRows=1,
            style=table_style(),
        )
    ]


def _gate_rows(gate: Gate) -> list[list[Any]]:
    state = paragraph(words.OPENED if gate.opened else words.SHUT, styles().good if gate.opened else styles().warned)
    how = paragraphs(gate.how) + paragraphs(f"{words.by_entries(gate.entries)}; {gate.source}", styles().quiet)
    return rows_of([paragraph(gate.name[:NAME_LETTERS]), state], how)


def _overrides(record: BatchRecord) -> list[Any]:
    if not record.overrides:
        return [paragraph(words.NO_OVERRIDES)]
    return [paragraph(words.with_entry(o.says, o.entry), styles().warned) for o in record.overrides]


def _entries(record: BatchRecord, page: PageSize) -> list[Any]:
    from reportlab.platypus import LongTable

    if not record.entries:
        return [paragraph(words.NO_ENTRIES)]
    wide = page_width(page)
    head = [paragraph(name, styles().strong) for name in words.ENTRY_HEAD]
    columns = [wide * share for share in (0.07, 0.22, 0.14, 0.57)]
    rows = [head, *entry_rows(record.entries, record.habit)]
    return [LongTable(rows, colWidths=columns, repeatRows=1, style=table_style())]


def _signature(page: PageSize) -> list[Any]:
    from reportlab.platypus import KeepTogether, Spacer, Table

    wide = page_width(page)
    lines = Table(
        [[paragraph(word, styles().quiet) for word in words.SIGNATURE]],
        colWidths=[wide * 0.4, wide * 0.36, wide * 0.24],
        style=[("LINEABOVE", (0, 0), (-1, 0), 0.7, GRID), ("RIGHTPADDING", (0, 0), (-1, 0), 12)],
    )
    return [KeepTogether([Spacer(1, 60), lines])]
