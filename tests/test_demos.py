"""The demo conversations: the tool says what each of them expects."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.cli import main
from bot.doors.demo_file import read_demo

DEMOS = sorted((Path(__file__).resolve().parent.parent / "demo_conversations").iterdir())


def test_there_are_at_least_six_and_nothing_else_lies_there() -> None:
    assert len(DEMOS) >= 6
    assert {demo.suffix for demo in DEMOS} == {".chat"}


@pytest.mark.parametrize("demo", DEMOS, ids=lambda demo: demo.stem)
def test_a_demo_goes_as_written(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status = main(["replay", "--check", str(demo)])
    assert status == 0, capsys.readouterr().out


@pytest.mark.parametrize("demo", DEMOS, ids=lambda demo: demo.stem)
def test_a_demo_expects_something_of_every_message(demo: Path) -> None:
    parts = read_demo(demo).parts
    assert any(one.text is not None or one.facts for part in parts for one in part.expected)
