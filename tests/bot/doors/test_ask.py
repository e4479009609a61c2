"""Ask: one question, an answer, nothing kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bot.cli import main
from tests.bot.doors.fakes import Parrot


@pytest.fixture(autouse=True)
def parrot(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bot.doors.ask.answering", Parrot)


def test_the_answer_is_printed_and_nothing_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = tmp_path / "data"
    assert main(["--data", str(data), "ask", "is 60 C", "enough?"]) == 0
    assert capsys.readouterr().out == "is 60 C enough?\n"
    assert not data.exists()


def test_the_facts_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BRINEBELL_UNITS", "metric")
    assert main(["ask", "--json", "is 60 C enough?"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["heard"] == {"intent": "ask", "slots": {"said": "is 60 C enough?"}}
    assert said["text"] == "is 60 C enough?"
    assert said["facts"][0]["units"] == "metric"


def test_how_it_was_read(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ask", "--explain", "4 lb coho fillets"]) == 0
    out = capsys.readouterr().out
    assert "coho_salmon" in out
    assert "heard: describe" in out


def test_how_it_was_read_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ask", "--explain", "--json", "4 lb coho fillets"]) == 0
    explained = json.loads(capsys.readouterr().out)
    assert explained["heard"][0]["slots"]["species"] == "coho_salmon"
    assert {"words", "rule", "read_as"} == set(explained["pieces"][0])


@pytest.mark.parametrize("arguments", [["ask"], ["ask", "  "]])
def test_nothing_asked(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(arguments) == 2
    said = capsys.readouterr()
    assert said.err.count("\n") == 1
    assert "brinebell ask" in said.err
