"""The written form of a conversation: what each line means, and what is said of a wrong one."""

from __future__ import annotations

import contextlib
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.complaints import WrongCall
from bot.doors.compare import difference
from bot.doors.demo_file import CHAT, Demo, read_demo
from bot.doors.said import Said
from bot.doors.steps import Habits, Sent, Tick

HEAD = "# Shows it.\nzone: America/Vancouver\nunits: us\nquiet: 22:30-06:30\n\nFri 2026-09-11 17:40\n"
ZONE = ZoneInfo("America/Vancouver")


def demo(tmp_path: Path, body: str, head: str = HEAD) -> Demo:
    path = tmp_path / "talk.chat"
    path.write_text(head + body, encoding="utf-8")
    return read_demo(path)


def local(day: int, hour: int, minute: int) -> datetime:
    return datetime(2026, 9, day, hour, minute, tzinfo=ZONE).astimezone(UTC)


def test_steps_of_a_file(tmp_path: Path) -> None:
    found = demo(
        tmp_path,
        "ida> 4 lb coho\n    | skin on\n17:52\nida presses [Got it]\n"
        "... till Sat 06:30\n6:45\nola sends fish.jpg: rinsed\n05:00\nola> \n",
    )
    assert found.shows == "Shows it."
    assert list(found.steps()) == [
        Habits(None, "America/Vancouver", "us", ("22:30", "06:30")),
        Tick(local(11, 17, 40)),
        Sent(local(11, 17, 40), CHAT, "ida", "4 lb coho\nskin on"),
        Tick(local(11, 17, 52)),
        Sent(local(11, 17, 52), CHAT, "ida", press="Got it"),
        Tick(local(12, 6, 30)),
        Tick(local(12, 6, 45)),
        Sent(local(12, 6, 45), CHAT, "ola", "rinsed", photo="fish.jpg"),
        Tick(local(13, 5, 0)),
        Sent(local(13, 5, 0), CHAT, "ola", ""),
    ]


def test_an_hour_that_comes_twice_is_told_twice(tmp_path: Path) -> None:
    head = "# Clock goes back.\nzone: America/New_York\n\nSun 2026-11-01 01:30\n"
    ticks = [part.step.at for part in demo(tmp_path, "01:15\n", head).parts]
    # 1 November 2026 02:00 EDT is 01:00 EST: 01:15 after 01:30 is the second of the two.
    assert ticks == [datetime(2026, 11, 1, 5, 30, tzinfo=UTC), datetime(2026, 11, 1, 6, 15, tzinfo=UTC)]


@pytest.mark.parametrize(
    ("body", "line", "says"),
    [
        ("hello there\n", 7, "cannot read"),
        ("bell at noon> x\n", 7, "is no time"),
        ("facts> Verdict\n", 7, "begins with its kind"),
        ("facts> verdict call\n", 7, "key=value"),
        ("facts> verdict call<soon\n", 7, "no number"),
        ("[Done]\n", 7, "follows the 'bell>'"),
        ("    | more\n", 7, "continues"),
        ("bell> x\nnothing>\n", 8, "nothing>"),
        ("... till later\n", 7, "no moment"),
        ("Fri 2026-09-11 17:39\n", 7, "lies before"),
        ("Sun 2026-09-12 17:39\n", 7, "weekday"),
        ("25:00\n", 7, "no time of day"),
        ("2026-02-30 12:00\n", 7, ""),
    ],
)
def test_a_wrong_line_is_named(tmp_path: Path, body: str, line: int, says: str) -> None:
    with pytest.raises(WrongCall) as caught:
        demo(tmp_path, body)
    assert f"talk.chat line {line}: " in str(caught.value)
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("head", "line"),
    [
        ("zone: UTC\n", 1),
        ("# x\nzone: Mars/Olympus\n", 2),
        ("# x\nunits: cubits\n", 2),
        ("# x\nquiet: never\n", 2),
        ("# x\nida> hi\n", 2),
        ("# x\n17:40\n", 2),
    ],
)
def test_a_wrong_head_is_named(tmp_path: Path, head: str, line: int) -> None:
    with pytest.raises(WrongCall, match=f"talk.chat line {line}: "):
        demo(tmp_path, "", head)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(WrongCall, match="cannot be read"):
        read_demo(tmp_path / "none.chat")


lines = st.sampled_from([
    "ida> ", "bell> ", "bell 06:30> ", "facts> verdict ", "nothing>", "…", "... till ", "    | ", "[", "]", "17:52",
    "Sat 06:30", "Fri 2026-09-11 17:40", "ida presses [", "ida sends ", "a=1", 'x="', "x<", "at 06:30", "# ", "zone: ",
])  # fmt: skip


@given(st.lists(st.tuples(lines, lines | st.text(max_size=10)).map("".join), max_size=8))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
def test_a_file_is_read_or_refused_and_nothing_else(tmp_path: Path, body: list[str]) -> None:
    with contextlib.suppress(WrongCall):
        demo(tmp_path, "\n".join(body))


def said(text: str = "Got it.", clock: str = "17:40", **more: object) -> Said:
    hour, minute = clock.split(":")
    return Said(local(11, int(hour), int(minute)), CHAT, text, **more)  # type: ignore[arg-type]


VERDICT = {
    "kind": "verdict",
    "call": "wait",
    "value": 52.24,
    "lot": None,
    "next_look": "2026-09-11T18:10:00-07:00",
    "eta": {"of": "floor", "p50": "2026-09-11T19:04:00-07:00"},
    "etas": [{"of": "hold_end", "p50": "2026-09-11T19:34:00-07:00"}],
    "reasons": [{"rule": "floor", "says": "under 62.8 °C"}, {"rule": "aim", "says": "under 71.1 °C"}],
}

AGREE = [
    ("bell> Got it.\n", [said()]),
    ("bell> Got…\n", [said("Got it.\nWeigh 300 g")]),
    ("bell> Got…g\n    | Then…\n", [said("Got it.\nWeigh 300 g\nThen wait")]),
    ("bell> Got it.\n    | Weigh 300 g\n", [said("Got it.  \nWeigh 300 g\n")]),
    ("bell> …\n[Done] [Not yet]\n", [said(buttons=("Done", "Not yet"))]),
    ("bell 17:40> …\n", [said()]),
    ("bell 18:00~20min> …\n", [said()]),
    ("nothing>\n", []),
    ("", []),
    ("…\n", []),
    ("…\n", [said(), said()]),
    ("…\nbell> A\n…\n", [said("x"), said("A"), said("y")]),
    ("…\nbell> A\n", [said("A"), said("A")]),
    ("facts> verdict call=wait\n", [said(facts=(VERDICT,))]),
    ("facts> verdict value=52.2 eta.of=floor lot=null\n", [said(facts=(VERDICT,))]),
    ("facts> verdict value=52 eta.p50=19:00~10min\n", [said(facts=(VERDICT,))]),
    ("facts> verdict value>52 value<52.3 next_look=18:10\n", [said(facts=(VERDICT,))]),
    ("facts> verdict value=50~5% next_look=*\n", [said(facts=(VERDICT,))]),
    ('facts> verdict next_look="Fri 18:10" at 17:40\n', [said(facts=(VERDICT,))]),
    ('facts> verdict reasons.rule=aim reasons[rule=floor].says="…62.8 °C"\n', [said(facts=(VERDICT,))]),
    ("facts> verdict etas[of=hold_end].p50=19:34 etas[0].of=hold_end\n", [said(facts=(VERDICT,))]),
    ("bell> Got…\nfacts> verdict call=wait\nfacts> logged\n", [said(facts=({"kind": "logged"}, VERDICT))]),
]

PART = [
    ("bell> Got\n", [said()], "the words differ"),
    ("bell> got it.\n", [said()], "the words differ"),
    ("bell> Got it.\n", [], "nothing more"),
    ("nothing>\n", [said()], "nothing more"),
    ("", [said()], "nothing more"),
    ("bell> A\nbell> B\n", [said("B"), said("A")], "the words differ"),
    ("bell> A\n", [said("A"), said("B")], "nothing more"),
    ("…\nbell> A\n", [said("A"), said("B")], "nothing more"),
    ("bell 17:41> …\n", [said()], "at 17:41"),
    ("bell 18:00~10min> …\n", [said()], "at 18:00~10min"),
    ("bell Sat 17:40> …\n", [said()], "Sat"),
    ("bell> …\n[Done]\n", [said(buttons=("Done", "Not yet"))], "buttons"),
    ("facts> verdict call=go\n", [said(facts=(VERDICT,))], "call=go (is wait)"),
    ("facts> verdict value=52.3\n", [said(facts=(VERDICT,))], "value=52.3 (is 52.24)"),
    ("facts> verdict value=51\n", [said(facts=(VERDICT,))], "value=51"),
    ("facts> verdict eta.p50=19:00~3min\n", [said(facts=(VERDICT,))], "eta.p50"),
    ('facts> verdict next_look="Sat 18:10"\n', [said(facts=(VERDICT,))], "next_look"),
    ("facts> verdict lot=*\n", [said(facts=(VERDICT,))], "lot=*"),
    ("facts> verdict colour=red\n", [said(facts=(VERDICT,))], "missing"),
    ("facts> plan\n", [said(facts=(VERDICT,))], "no such kind"),
    ("facts> verdict call=wait at 17:50\n", [said(facts=(VERDICT,))], "at 17:50"),
    ("facts> verdict reasons.rule=cooling\n", [said(facts=(VERDICT,))], "reasons.rule"),
]


@pytest.mark.parametrize(("body", "came"), AGREE)
def test_what_agrees(tmp_path: Path, body: str, came: list[Said]) -> None:
    part = demo(tmp_path, "ida> hi\n" + body).parts[-1]
    assert difference(part, came, ZONE) is None


@pytest.mark.parametrize(("body", "came", "shows"), PART)
def test_where_they_part(tmp_path: Path, body: str, came: list[Said], shows: str) -> None:
    part = demo(tmp_path, "ida> hi\n" + body).parts[-1]
    shown = difference(part, came, ZONE)
    assert shown is not None
    assert shows in shown
    assert shown.startswith("line ")
