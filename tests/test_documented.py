"""The README names every command and every setting, and its two commands are there to be copied."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from bot.cli import COMMANDS, main
from bot.complaints import DEBUG_VARIABLE
from bot.settings import FILE_VARIABLE, PREFIX, Settings

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
VARIABLES = [PREFIX + name.upper() for name in Settings.model_fields] + [FILE_VARIABLE, DEBUG_VARIABLE]


@pytest.mark.parametrize("name", [command.name for command in COMMANDS])
def test_every_command_is_in_the_readme(name: str) -> None:
    assert f"brinebell {name}" in README


@pytest.mark.parametrize("variable", VARIABLES)
def test_every_setting_is_in_the_readme(variable: str) -> None:
    assert re.search(rf"\b{variable}\b", README)


def test_the_readme_names_no_setting_that_is_not_there() -> None:
    assert set(re.findall(rf"\b{PREFIX}[A-Z_]+\b", README)) <= set(VARIABLES)


def test_the_readme_names_no_command_that_is_not_there() -> None:
    named = set(re.findall(r"^\s*(?:\S*/)?brinebell (?:--data \S+ )?([a-z]+)", README, re.MULTILINE))
    assert named <= {command.name for command in COMMANDS}


def test_the_readme_says_how_to_pass_the_tests() -> None:
    assert "-m pytest" in README


def test_the_help_examples_play_files_that_are_there() -> None:
    files = [word for command in COMMANDS for word in command.example.split() if word.startswith("demo_conversations/")]
    assert files
    assert [file for file in files if not (ROOT / file).is_file()] == []


def test_the_conversation_of_the_readme_goes_as_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (said,) = re.findall(r"^```\n(\w{3} \d{4}-.*?)^```", README, re.MULTILINE | re.DOTALL)
    demo = tmp_path / "readme.chat"
    demo.write_text(f"# The one of the README.\nzone: America/Vancouver\nunits: us\n\n{said}", encoding="utf-8")

    assert main(["replay", "--check", str(demo)]) == 0, capsys.readouterr().out
