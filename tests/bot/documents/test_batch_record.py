"""The record shows everything that the journal holds, whatever it holds."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from bot.documents import words
from bot.documents.batch_record import record_pdf, record_story
from bot.documents.images import SIDE_PX, reencoded
from bot.documents.records import BatchRecord
from bot.documents.typeface import load_fonts
from bot.say.cautions import LOCAL_RULES
from tests.bot.documents import cases
from tests.bot.pictures.cases import photo

RECORDS = {"full": cases.RECORD, "hard": cases.HARD, "bare": cases.BARE}


def _texts(part: Any) -> Iterator[str]:
    if isinstance(part, list | tuple):
        for one in part:
            yield from _texts(one)
    elif hasattr(part, "getPlainText"):
        yield part.getPlainText()
    else:
        yield from _texts(getattr(part, "_cellvalues", None) or getattr(part, "_content", None) or ())


def said(record: BatchRecord) -> str:
    """All words of the record in order."""
    load_fonts()
    return "\n".join(_texts(record_story(record, "A4")))


@pytest.mark.parametrize("page", ["A4", "Letter"])
@pytest.mark.parametrize("name", RECORDS)
def test_every_record_becomes_a_pdf(name: str, page: Any) -> None:
    pdf = record_pdf(RECORDS[name], page)
    assert pdf.startswith(b"%PDF-")
    assert pdf.rstrip().endswith(b"%%EOF")
    assert re.findall(rb"/Type /Page\b(?!s)", pdf)
    (box,) = set(re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", pdf))
    # ISO 216 A4 is 210 x 297 mm, US Letter 8.5 x 11 in; a point is 1/72 in.
    points = (210 / 25.4 * 72, 297 / 25.4 * 72) if page == "A4" else (8.5 * 72, 11 * 72)
    assert [float(side) for side in box] == pytest.approx(points, abs=0.1)


def test_the_same_record_gives_the_same_file() -> None:
    assert record_pdf(cases.RECORD) == record_pdf(cases.RECORD)


def test_every_entry_is_there_with_both_times_and_who() -> None:
    text = said(cases.RECORD)
    for entry in cases.ENTRIES:
        assert f"\n{entry.number}\n" in text
        assert entry.words in text
    # Entry 6: 16 h after 17:30 on Friday, Pacific Daylight Time, told two minutes later.
    assert "6\nSat Sep 12 9:30 am\ntold 9:32 am\nKari\nreading\n“core 130”\ncore 130 °F / 54.4 °C, lot small" in text


def test_verdicts_show_rule_and_source() -> None:
    text = said(cases.RECORD)
    assert "• hot_floor: 62.8 °C / 145 °F for 30 minutes (an invented source, table 2)" in text
    assert "• chamber_band: common practice, no source" in text


def test_gates_overrides_cautions_and_signature() -> None:
    text = said(cases.RECORD)
    assert "hot long enough\nopened\ncore at or above 145 °F from 19:10 to 19:44\nentries 6, 7; an invented" in text
    assert "cooled in time\nNOT opened\nno reading at or below 70 °F within 2 h\nno entry shows it; an invented" in text
    assert "Taken out of the smoke before the hold was over. (no. 10)" in text
    assert LOCAL_RULES in text
    assert "heat to 165 °F / 73.9 °C before eating" in text
    assert text.endswith("\n".join(words.SIGNATURE))


def test_a_voided_entry_stays_and_says_by_which() -> None:
    assert "“core 300”\ncore 300 °F / 148.9 °C\nvoid by no. 5" in said(cases.RECORD)
    assert "makes no. 4 void" in said(cases.RECORD)


def test_an_unreadable_photo_says_so_and_the_rest_goes_on() -> None:
    assert f"{words.UNREADABLE}\nout of the smoke (no. 10)" in said(cases.RECORD)
    assert "into the brine (no. 3)" in said(cases.RECORD)


def test_a_bare_record_still_cautions() -> None:
    text = said(cases.BARE)
    for line in (LOCAL_RULES, words.NO_GATES, words.NO_OVERRIDES, words.NO_ENTRIES):
        assert line in text
    assert words.MISSING_LETTERS not in text


def test_markup_and_strange_letters_are_shown_not_obeyed() -> None:
    text = said(cases.HARD)
    assert cases.MARKUP in text
    assert "▯ Владивосток Θεσσαλονίκη Þingvellir" in text
    assert words.MISSING_LETTERS in text
    closed_up = "".join(text.split())
    assert closed_up.count("".join(cases.LONG_WORDS.split())) == 4  # a message, a summary, a gate, an override
    assert cases.ONE_WORD in closed_up


ANYTHING = st.text(max_size=200) | st.sampled_from([cases.LONG_WORDS, cases.ONE_WORD, "\n" * 500, "ﷺ" * 300])


@settings(max_examples=10, deadline=None)
@given(ANYTHING, ANYTHING, ANYTHING, st.dictionaries(ANYTHING, ANYTHING, max_size=3))
def test_whatever_people_wrote_it_can_be_printed(who: str, name: str, written: str, data: dict[str, str]) -> None:
    entry = replace(cases.ENTRIES[0], who=who, words=written, data=data)
    record = replace(cases.BARE, name=name, species=who, batch=name, entries=(entry,), summary=((who, written),))
    assert record_pdf(record).startswith(b"%PDF-")


def test_a_photo_is_made_smaller_and_loses_what_the_camera_wrote() -> None:
    picture = Image.linear_gradient("L").resize((4000, 3000)).convert("RGB")
    exif = Image.Exif()
    exif[0x010E] = "here is where I fish"  # ImageDescription
    exif.get_ifd(0x8825)[1] = "N"  # GPS latitude reference
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", exif=exif)
    made = reencoded(buffer.getvalue())
    assert made is not None
    assert b"here is where I fish" in buffer.getvalue()
    assert b"here is where I fish" not in made[0]
    with Image.open(io.BytesIO(made[0])) as small:
        assert not small.getexif()
        assert small.size == made[1:]
        assert max(small.size) == SIDE_PX


@pytest.mark.parametrize("broken", [b"", b"%PDF-1.7", photo()[:500], photo(9000, 6000, "PNG")])
def test_what_is_no_picture_is_none(broken: bytes) -> None:
    assert reencoded(broken) is None
