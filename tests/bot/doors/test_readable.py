"""The printed conversation is a demo file of the same conversation."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.doors.compare import difference
from bot.doors.demo_file import CHAT, read_demo
from bot.doors.readable import Readable
from bot.doors.said import Said
from bot.doors.steps import Sent, Tick

ZONE = ZoneInfo("America/Vancouver")
START = datetime(2026, 9, 12, 0, 40, tzinfo=UTC)

words = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=40)
texts = st.lists(words, min_size=1, max_size=3).map("\n".join)
labels = st.text(st.characters(categories=["L", "N"]), min_size=1, max_size=10)
gaps = st.integers(0, 10 * 24 * 60).map(lambda minutes: timedelta(minutes=minutes))
turns = st.tuples(
    gaps, texts | labels.map(lambda label: (label,)), st.lists(st.tuples(texts, st.lists(labels)), max_size=2)
)


def trimmed(sent: Sent | Tick) -> Sent:
    """Spaces at the ends of lines do not come back."""
    assert isinstance(sent, Sent)
    return replace(sent, text="\n".join(line.rstrip() for line in sent.text.split("\n")))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(st.lists(turns, max_size=6))
def test_what_is_printed_can_be_read_back(tmp_path: Path, talk: list) -> None:  # type: ignore[type-arg]
    at, lines, sent, said = START, Readable(), [], []
    printed = ["# Shows it.", "zone: America/Vancouver", ""]
    for gap, what, answers in talk:
        at += gap
        text, press = (what, None) if isinstance(what, str) else ("", what[0])
        sent.append(Sent(at, CHAT, "ida", text, press))
        printed += lines.sent(sent[-1], ZONE)
        said.append([Said(at, CHAT, text, tuple(buttons)) for text, buttons in answers])
        printed += [line for one in said[-1] for line in lines.said(one, ZONE)]
    path = tmp_path / "talk.chat"
    path.write_text("\n".join(printed) + "\n", encoding="utf-8")

    parts = [part for part in read_demo(path).parts if isinstance(part.step, Sent)]
    assert [trimmed(part.step) for part in parts] == [trimmed(one) for one in sent]
    assert [difference(part, came, ZONE) for part, came in zip(parts, said, strict=True)] == [None] * len(sent)


def test_a_terminal_is_told_nothing_to_obey() -> None:
    shown = "\n".join(Readable().said(Said(START, CHAT, "a\x1b[2Jb\rc\x9bd"), ZONE))
    assert "\x1b" not in shown
    assert "\x9b" not in shown
    assert "\r" not in shown


def test_a_very_long_text_is_cut() -> None:
    shown = "\n".join(Readable().sent(Sent(START, CHAT, "ida", "x" * 100_000), ZONE))
    assert len(shown) < 5000


def test_files_and_other_chats_are_named() -> None:
    lines = Readable()
    list(lines.said(Said(START, "c1", "a"), ZONE))
    shown = list(lines.said(Said(START, "c2", "b", files=("plan.png",)), ZONE))
    assert shown == ["# in chat c2", "bell> b", "    # file: plan.png"]
