"""Settings: where they come from, and what is said when one is wrong."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from bot.complaints import WrongCall
from bot.settings import Settings, load, quiet_hours, system_zone


@pytest.fixture(autouse=True)
def empty_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No setting of the machine reaches a test."""
    import os

    for name in list(os.environ):
        if name.startswith("BRINEBELL_"):
            monkeypatch.delenv(name)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path


def write(folder: Path, text: str) -> Path:
    path = folder / "config" / "brinebell" / "settings.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def complaint() -> str:
    with pytest.raises(WrongCall) as caught:
        load()
    line = str(caught.value)
    assert "\n" not in line
    return line


def test_all_is_optional(empty_home: Path) -> None:
    settings = load()
    assert settings.data == empty_home / "data" / "brinebell"
    assert settings.token is None
    assert settings.quiet == ("22:30", "06:30")


def test_the_file_is_read_and_the_environment_goes_first(empty_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(empty_home, 'zone = "Europe/Oslo"\nunits = "metric"\nallowed_chats = [12, -5]\n')
    monkeypatch.setenv("BRINEBELL_ZONE", "America/Vancouver")
    monkeypatch.setenv("BRINEBELL_QUIET", "23:00-6:00")
    settings = load()
    assert (settings.zone, settings.units) == ("America/Vancouver", "metric")
    assert settings.allowed_chats == ("12", "-5")
    assert settings.quiet == ("23:00", "06:00")


def test_a_tilde_in_the_file_is_the_home(empty_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/home/ida")
    write(empty_home, 'data = "~/fish"\n')
    assert load().data == Path("/home/ida/fish")


def test_data_of_the_command_line_goes_before_everything(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BRINEBELL_DATA", "/elsewhere")
    assert load(Path("/here")).data == Path("/here")


@pytest.mark.parametrize(
    ("variable", "value", "example"),
    [
        ("ZONE", "Mars/Olympus", "America/Vancouver"),
        ("ZONE", "../etc/passwd", "America/Vancouver"),
        ("UNITS", "cubits", "metric"),
        ("QUIET", "25:00-06:00", "22:30-06:30"),
        ("ALLOWED_CHATS", "12,my chat", "4711"),
        ("WEBHOOK_LISTEN", "everywhere", "127.0.0.1:8443"),
        ("METRICS_PORT", "70000", "9464"),
        ("LOG_TEXTS", "perhaps", "true"),
    ],
)
def test_a_bad_value_is_named_with_one_that_would_do(
    monkeypatch: pytest.MonkeyPatch, variable: str, value: str, example: str
) -> None:
    monkeypatch.setenv(f"BRINEBELL_{variable}", value)
    line = complaint()
    assert f"BRINEBELL_{variable}" in line
    assert example in line


def test_a_damaged_file_says_where(empty_home: Path) -> None:
    path = write(empty_home, 'zone = "Europe/Oslo\n')
    line = complaint()
    assert str(path) in line
    assert "line 1" in line


def test_a_file_of_bytes_is_refused(empty_home: Path) -> None:
    path = write(empty_home, "")
    path.write_bytes(b"\xff\xfe\x00")
    assert str(path) in complaint()


def test_a_named_file_must_exist(empty_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BRINEBELL_SETTINGS", str(empty_home / "none.toml"))
    assert "none.toml" in complaint()


def test_a_misspelt_name_is_guessed(empty_home: Path) -> None:
    write(empty_home, 'tokne = "x"\n')
    assert "'token'" in complaint()


def test_secrets_are_in_no_complaint_and_no_print(empty_home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(empty_home, 'token = ["very-secret"]\n')
    assert "very-secret" not in complaint()
    write(empty_home, 'token = "very-secret"\n')
    settings = load()
    assert "very-secret" not in repr(settings)
    assert settings.token is not None
    assert settings.token.get_secret_value() == "very-secret"


def test_every_setting_says_what_it_is() -> None:
    for name, field in Settings.model_fields.items():
        assert field.description, name
        assert field.examples, name


def test_the_examples_are_valid(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, field in Settings.model_fields.items():
        assert field.examples
        monkeypatch.setenv(f"BRINEBELL_{name.upper()}", str(field.examples[0]))
    load()


@pytest.mark.parametrize("value", ["22:30", "", ["22:30"], ["22:30", 6], 5, "22:30-06:30-07:00", None])
def test_quiet_hours_need_two_clock_times(value: object) -> None:
    with pytest.raises(ValueError, match="two clock times"):
        quiet_hours(value)


def test_the_system_zone_is_one_that_exists() -> None:
    ZoneInfo(system_zone())
