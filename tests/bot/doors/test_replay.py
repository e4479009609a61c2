"""Replay: what goes in as lines comes out as lines, in simulated time."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from bot.cli import main
from tests.bot.doors.fakes import Parrot

HEAD = "# Shows it.\nzone: America/Vancouver\nunits: us\n\nFri 2026-09-11 17:40\n"


@pytest.fixture(autouse=True)
def parrot(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bot.doors.replay.answering", lambda _, **__: Parrot())


@pytest.fixture
def replay(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    def run(*lines: Any, status: int = 0) -> list[dict[str, Any]]:
        text = "\n".join(line if isinstance(line, str) else json.dumps(line) for line in lines)
        monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
        assert main(["replay", "-", "--json"]) == status
        return [json.loads(line) for line in capsys.readouterr().out.splitlines()]

    return run


def at(clock: str) -> str:
    return f"2026-09-11T{clock}:00-07:00"


def say(clock: str, text: str, chat: str = "c1") -> dict[str, str]:
    return {"at": at(clock), "chat": chat, "from": "p1", "text": text}


VANCOUVER = {"settings": {"zone": "America/Vancouver", "units": "us", "quiet": ["23:00", "05:30"]}}


def test_each_line_is_heard_and_answered_at_its_time(replay: Any) -> None:
    out = replay(VANCOUVER, say("17:40", "hello"))
    assert out == [
        {"at": at("17:40"), "chat": "c1", "heard": {"intent": "ask", "slots": {"said": "hello"}}},
        {
            "at": at("17:40"),
            "chat": "c1",
            "text": "hello",
            "buttons": ["Done", "Later"],
            "facts": [{"kind": "answer", "zone": "America/Vancouver", "units": "us", "quiet": ["23:00", "05:30"]}],
            "files": [],
        },
    ]


def test_what_falls_due_comes_at_its_own_time_before_the_next_line(replay: Any) -> None:
    out = replay(VANCOUVER, say("17:40", "ring 20"), say("17:50", "ring 5", "c2"), {"at": at("18:30"), "tick": True})
    times = [(line["at"], line["chat"], line.get("text", "heard")) for line in out]
    assert times == [
        (at("17:40"), "c1", "heard"),
        (at("17:40"), "c1", "ring 20"),
        (at("17:50"), "c2", "heard"),
        (at("17:50"), "c2", "ring 5"),
        (at("17:55"), "c2", "time to look"),
        (at("18:00"), "c1", "time to look"),
    ]
    assert out[-1]["facts"][0]["late_s"] == 0


def test_nothing_comes_after_the_last_line(replay: Any) -> None:
    assert len(replay(VANCOUVER, say("17:40", "ring 20"))) == 2


def test_settings_of_one_chat_and_of_all(replay: Any) -> None:
    out = replay(
        {"settings": {"units": "metric"}, "chat": "c2"},
        VANCOUVER,
        {"settings": {"zone": "Europe/Oslo"}, "chat": "c2"},
        say("17:40", "a"),
        say("17:40", "b", "c2"),
        {"settings": {"units": "metric"}},
        say("17:41", "c"),
        say("17:41", "d", "c2"),
    )
    seen = [line["facts"][0] for line in out if "text" in line]
    assert [(fact["zone"], fact["units"]) for fact in seen] == [
        ("America/Vancouver", "us"),
        ("Europe/Oslo", "us"),
        ("America/Vancouver", "metric"),
        ("Europe/Oslo", "metric"),
    ]
    assert out[2]["at"] == "2026-09-12T02:40:00+02:00"


def test_a_setting_of_a_person_stays_when_another_is_set_for_all(replay: Any) -> None:
    out = replay(VANCOUVER, say("17:40", "metric"), {"settings": {"quiet": ["22:00", "06:00"]}}, say("17:41", "a"))
    fact = out[-1]["facts"][0]
    assert (fact["units"], fact["quiet"]) == ("metric", ["22:00", "06:00"])


def test_a_button_is_pressed_by_its_label(replay: Any) -> None:
    press = {"at": at("17:41"), "chat": "c1", "from": "p1", "press": "Done"}
    out = replay(VANCOUVER, say("17:40", "hello"), press, {**press, "press": "Nowhere"}, {**press, "chat": "c2"})
    assert [line["text"] for line in out if "text" in line] == [
        "hello",
        "pressed Done",
        "no such button",
        "no such button",
    ]


def test_a_message_that_breaks_its_handler_is_heard_as_nothing_and_the_next_goes_on(replay: Any) -> None:
    out = replay(VANCOUVER, say("17:40", "break"), say("17:40", "hello"))
    assert out[0]["heard"] == {"intent": "chat", "slots": {}}
    assert out[-1]["text"] == "hello"


def test_lines_before_a_bad_one_are_answered(replay: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert len(replay(VANCOUVER, say("17:40", "hello"), "{", status=2)) == 2


def test_the_bad_line_is_named_on_standard_error(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(b"\n\n{}\n")))
    assert main(["replay", "-", "--json"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith('brinebell: standard input line 3: lacks "at"')
    assert said.err.count("\n") == 1


def test_a_file_of_json_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "talk.jsonl"
    path.write_text(json.dumps(VANCOUVER) + "\n" + json.dumps(say("17:40", "hello")) + "\n")
    assert main(["replay", str(path)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        f"# {path}",
        "zone: America/Vancouver",
        "units: us",
        "quiet: 23:00-05:30",
        "",
        "Fri 2026-09-11 17:40",
        "p1> hello",
        "bell> hello",
        "    [Done] [Later]",
    ]


def chat_file(tmp_path: Path, body: str) -> str:
    path = tmp_path / "talk.chat"
    path.write_text(HEAD + body, encoding="utf-8")
    return str(path)


GOOD = """ida> ring 20
bell> ring 20
    [Done] [Later]
... till 18:00
bell 18:00> time…
facts> reminder what=look
"""


def test_a_demo_that_agrees(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", "--check", chat_file(tmp_path, GOOD)]) == 0
    assert "agrees in all 3 parts" in capsys.readouterr().out


def test_a_demo_that_does_not(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", "--check", chat_file(tmp_path, GOOD + "ida> hi\nbell> ho\n18:10\n")]) == 1
    out = capsys.readouterr().out
    assert "differs in 1" in out
    assert "line 13:" in out
    assert "expected    ho" in out


def test_a_demo_is_shown_and_the_showing_is_a_demo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    name = chat_file(tmp_path, GOOD)
    assert main(["replay", name]) == 0
    shown = capsys.readouterr().out
    assert "Shows it." in shown
    again = tmp_path / "again.chat"
    again.write_text(shown, encoding="utf-8")
    assert main(["replay", "--check", str(again)]) == 0


def test_json_and_check_together(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["replay", "--check", "--json", chat_file(tmp_path, GOOD)]) == 0
    said = capsys.readouterr()
    assert [json.loads(line)["at"] for line in said.out.splitlines()][-1] == at("18:00")
    assert "agrees" in said.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["replay"], "FILE"),
        (["replay", "none.chat"], "none.chat cannot be read"),
        (["replay", "none.jsonl"], "none.jsonl cannot be read"),
        (["replay", "--check", "none.jsonl"], "expects nothing"),
        (["replay", "--jsn", "x.chat"], "--jsn"),
    ],
)
def test_wrong_calls(arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert says in said.err
    assert said.err.count("\n") == 1
