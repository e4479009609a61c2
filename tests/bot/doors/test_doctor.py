"""Doctor: each thing that can be wrong is named with the way to mend it; copies go there and back."""

from __future__ import annotations

import asyncio
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bot.cli import main
from bot.doors.opening import Which, opened
from bot.settings import Settings
from scheduler.turn import Outcome, Ring
from tests.bot.doors.test_export import in_thread, keep

TOKEN = "123456:made-up-for-this-test"


@pytest.fixture(autouse=True)
def own_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("BRINEBELL_ZONE", "America/Vancouver")


def doctor(data: Path, *arguments: str) -> int:
    return main(["--data", str(data), "doctor", *arguments])


def test_a_fresh_machine_is_well(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert doctor(tmp_path / "data") == 0
    out = capsys.readouterr().out
    assert "WRONG" not in out
    assert out.endswith("all is well\n")
    for what in ("settings", "data", "zone", "clock", "terminal", "telegram", "messenger"):
        assert f"ok    {what}" in out


async def test_databases_are_counted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho", "trout")
    assert await in_thread(doctor, tmp_path) == 0
    assert "2 batches in 1 conversations" in capsys.readouterr().out


def test_settings_that_are_wrong(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BRINEBELL_TOKNE", "x")
    assert doctor(tmp_path) == 1
    assert "did you mean BRINEBELL_TOKEN?" in capsys.readouterr().out
    monkeypatch.setenv("BRINEBELL_ZONE", "Mars/Olympus")
    assert doctor(tmp_path) == 1
    assert "mend: write it like 'America/Vancouver'" in capsys.readouterr().out


def test_a_data_folder_that_cannot_be_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").touch()
    assert doctor(tmp_path / "file" / "data") == 1
    out = capsys.readouterr().out
    assert "WRONG data" in out
    assert "--data DIR" in out


def test_a_damaged_database(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "terminal.sqlite3").write_bytes(b"not a database at all" * 300)
    assert doctor(tmp_path) == 1
    out = capsys.readouterr().out
    assert "WRONG terminal" in out
    assert "--restore" in out


async def test_a_newer_database(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    change_revision(tmp_path / "terminal.sqlite3", "9999")
    assert await in_thread(doctor, tmp_path) == 1
    assert "install the newer version" in capsys.readouterr().out


async def test_a_reminder_that_nothing_rang(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ring = Ring("r", datetime.now(UTC) - timedelta(hours=3), "look", "soak")
    async with opened(Settings(data=tmp_path), Which.TERMINAL) as store:
        now = datetime.now(UTC)
        await store.commit(Outcome(rings={None: (ring,)}), None, await store.snapshot("terminal", now), now)
    assert await in_thread(doctor, tmp_path) == 1
    assert "start 'brinebell chat'" in capsys.readouterr().out


def change_revision(path: Path, to: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", (to,))


def test_a_token_that_nobody_answers_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BRINEBELL_TOKEN", TOKEN)
    monkeypatch.setenv("BRINEBELL_API_URL", "http://127.0.0.1:9")
    assert doctor(tmp_path) == 1
    said = capsys.readouterr()
    assert "WRONG messenger" in said.out
    assert TOKEN not in said.out + said.err


def names(data: Path, which: Which) -> list[str]:
    async def look() -> list[str]:
        async with opened(Settings(data=data), which, look=True) as store:
            return [file.name for _, file in await store.batches()]

    return asyncio.run(look())


async def test_a_copy_made_in_use_brings_everything_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    copied = tmp_path / "copy"
    async with opened(Settings(data=tmp_path), Which.TERMINAL):
        assert await in_thread(doctor, tmp_path, "--backup", str(copied)) == 0
        assert await in_thread(doctor, tmp_path, "--restore", str(copied)) == 1
        assert "another process works on" in capsys.readouterr().err
    fresh = tmp_path / "elsewhere"
    assert await in_thread(doctor, fresh, "--restore", str(copied), "--of", "terminal") == 0
    assert await in_thread(names, fresh, Which.TERMINAL) == ["coho"]


async def test_what_a_copy_replaces_is_kept(tmp_path: Path) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    copied = tmp_path / "copy"
    assert await in_thread(doctor, tmp_path, "--backup", str(copied)) == 0
    other = tmp_path / "other"
    await keep(other, Which.TERMINAL, "terminal", "trout")
    assert await in_thread(doctor, other, "--restore", str(copied)) == 0
    assert await in_thread(names, other, Which.TERMINAL) == ["coho"]
    (kept,) = (path for path in other.glob("terminal.*.sqlite3") if path.name != "terminal.sqlite3")
    with closing(sqlite3.connect(kept)) as connection:
        assert connection.execute("SELECT name FROM batches").fetchall() == [("trout",)]


@pytest.mark.parametrize(
    ("content", "says"),
    [(None, "there is no file"), (b"not a database" * 100, "is damaged"), (b"", "no backup of this program")],
)
def test_what_is_no_copy_is_not_put_in_place(
    tmp_path: Path, content: bytes | None, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    copied = tmp_path / "copy"
    if content is not None:
        copied.write_bytes(content)
    assert doctor(tmp_path / "data", "--restore", str(copied), "--of", "terminal") != 0
    assert says in capsys.readouterr().err
    assert not (tmp_path / "data" / "terminal.sqlite3").exists()


async def test_a_newer_copy_is_not_put_in_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    copied = tmp_path / "copy"
    assert await in_thread(doctor, tmp_path, "--backup", str(copied)) == 0
    change_revision(copied, "9999")
    assert await in_thread(doctor, tmp_path, "--restore", str(copied)) == 1
    assert "install the newer version" in capsys.readouterr().err


async def test_whose_database_has_to_be_clear(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert await in_thread(doctor, tmp_path, "--backup", str(tmp_path / "copy")) == 1
    await keep(tmp_path, Which.TERMINAL, "terminal", "coho")
    await keep(tmp_path, Which.TELEGRAM, "4711", "trout")
    assert await in_thread(doctor, tmp_path, "--backup", str(tmp_path / "copy")) == 2
    assert "--of terminal or --of telegram" in capsys.readouterr().err
    assert await in_thread(doctor, tmp_path, "--backup", str(tmp_path / "copy"), "--of", "telegram") == 0
    assert await in_thread(doctor, tmp_path, "--backup", str(tmp_path / "copy"), "--of", "terminal") == 1
    assert "name another file" in capsys.readouterr().err
