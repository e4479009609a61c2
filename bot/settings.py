"""Settings: from the environment (``BRINEBELL_*``) and a TOML file, the environment first.

Settings say where the tool lives and whom it serves. Safety limits are none of them: those stand
in the planner's data with their sources and cannot be set.
"""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

import platformdirs
from pydantic import Field, SecretStr, ValidationError, field_validator
from pydantic_settings import BaseSettings, NoDecode, PydanticBaseSettingsSource, SettingsConfigDict
from rapidfuzz import process

from bot.complaints import WrongCall

PREFIX = "BRINEBELL_"
#: Names the settings file where it does not lie in the usual place.
FILE_VARIABLE = "BRINEBELL_SETTINGS"


class Settings(BaseSettings):
    """Every setting, with its meaning; ``examples`` show how a value is written."""

    model_config = SettingsConfigDict(
        env_prefix=PREFIX, extra="forbid", frozen=True, env_ignore_empty=True, hide_input_in_errors=True
    )

    data: Path = Field(
        default_factory=lambda: Path(platformdirs.user_data_dir("brinebell", appauthor=False)),
        description="Folder for the database, photos, pictures and documents",
        examples=["/home/ida/brinebell"],
    )
    database: SecretStr | None = Field(
        None,
        description="Database by URL; a file in the data folder where not set",
        examples=["postgresql://bell@localhost/brinebell"],
    )
    zone: str | None = Field(
        None, description="Time zone of new chats; the system's where not set", examples=["America/Vancouver"]
    )
    units: Literal["us", "metric"] | None = Field(
        None,
        description="Units of new chats: us or metric; as people write where not set",
        examples=["metric"],
    )
    quiet: Annotated[tuple[str, str], NoDecode] = Field(
        ("22:30", "06:30"), description="Quiet hours of new chats", examples=["22:30-06:30"]
    )
    token: SecretStr | None = Field(
        None, description="Telegram bot token", examples=["123456:the-token-you-were-given"]
    )
    allowed_chats: Annotated[tuple[str, ...], NoDecode] = Field(
        (), description="Telegram chats that are answered, by number", examples=["4711,-100815"]
    )
    invite: SecretStr | None = Field(
        None, description="Word that lets a new Telegram chat in", examples=["a-word-nobody-guesses"]
    )
    api_url: str = Field(
        "https://api.telegram.org",
        description="Address of the Telegram Bot API server",
        examples=["http://127.0.0.1:8081"],
    )
    webhook_url: str | None = Field(
        None,
        description="Public https address that Telegram calls with --webhook",
        examples=["https://bell.example.org/in"],
    )
    webhook_secret: SecretStr | None = Field(
        None, description="Secret that Telegram shows with each call", examples=["letters_digits_and_dashes"]
    )
    webhook_listen: str = Field(
        "127.0.0.1:8443",
        description="Address and port that the webhook listens on",
        examples=["127.0.0.1:8443"],
    )
    metrics_port: int | None = Field(
        None,
        ge=1,
        le=65535,
        description="Loopback port for /healthz and metrics; off where not set",
        examples=["9464"],
    )
    log_texts: bool = Field(
        False, description="Write message texts into the log, for finding a fault", examples=["true"]
    )

    @field_validator("data")
    @classmethod
    def _home_is_known(cls, folder: Path) -> Path:
        return folder.expanduser()

    @field_validator("zone")
    @classmethod
    def _zone_exists(cls, name: str | None) -> str | None:
        if name is not None:
            known_zone(name)
        return name

    @field_validator("quiet", mode="before")
    @classmethod
    def _quiet_pair(cls, value: Any) -> tuple[str, str]:
        return quiet_hours(value)

    @field_validator("allowed_chats", mode="before")
    @classmethod
    def _chats(cls, value: Any) -> tuple[str, ...]:
        parts = value.split(",") if isinstance(value, str) else list(value)
        chats = tuple(str(part).strip() for part in parts if str(part).strip())
        if not all(re.fullmatch(r"-?\d+", chat) for chat in chats):
            raise ValueError("a chat is a whole number")
        return chats

    @field_validator("webhook_listen")
    @classmethod
    def _listen(cls, value: str) -> str:
        host, _, port = value.rpartition(":")
        if not host or not port.isdigit() or not 0 < int(port) < 65536:
            raise ValueError("write address:port")
        return value

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,
        dotenv_settings: PydanticBaseSettingsSource,
        file_secret_settings: PydanticBaseSettingsSource,
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        """The environment goes before what :func:`load` read from the file."""
        return env_settings, init_settings

    def zone_name(self) -> str:
        """The zone of new chats: as set, else the system's, else UTC."""
        return self.zone or system_zone()


def known_zone(name: str) -> str:
    """Return ``name`` if it is an IANA time zone, else raise ValueError."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValueError("no time zone has this name") from error
    return name


def quiet_hours(value: Any) -> tuple[str, str]:
    """Quiet hours from ``"22:30-06:30"`` or a pair of clock times, else raise ValueError."""
    parts = value.split("-") if isinstance(value, str) else value
    if not isinstance(parts, list | tuple) or len(parts) != 2:
        raise ValueError("quiet hours are two clock times")
    pair = [re.fullmatch(r"\s*([01]?\d|2[0-3]):([0-5]\d)\s*", str(part)) for part in parts]
    if pair[0] is None or pair[1] is None:
        raise ValueError("quiet hours are two clock times")
    first, last = (f"{int(clock[1]):02d}:{clock[2]}" for clock in pair if clock)
    return first, last


def system_zone() -> str:
    """IANA name of the machine's own zone; UTC where it has none."""
    import tzlocal

    try:
        return known_zone(tzlocal.get_localzone_name())
    except (KeyError, ValueError, OSError):
        return "UTC"


def settings_file() -> Path:
    """Where the settings file is looked for."""
    named = os.environ.get(FILE_VARIABLE)
    if named:
        return Path(named).expanduser()
    return Path(platformdirs.user_config_dir("brinebell", appauthor=False)) / "settings.toml"


def load(data: Path | None = None) -> Settings:
    """Read all settings; ``data`` (from the command line) goes before everything else.

    Raises WrongCall with one line that says what is wrong and how to mend it.
    """
    written = _read(settings_file())
    unknown = sorted(written.keys() - Settings.model_fields.keys())
    if unknown:
        raise WrongCall(_unknown_line(unknown[0]))
    try:
        settings = Settings(**written)
    except ValidationError as error:
        raise WrongCall(_bad_value_line(error, written)) from error
    return settings if data is None else settings.model_copy(update={"data": data})


def _read(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        if FILE_VARIABLE in os.environ:
            raise WrongCall(f"no settings file at {path}; write it, or unset {FILE_VARIABLE}") from None
        return {}
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise WrongCall(f"settings file {path} is damaged: {error}; mend that line or remove the file") from error
    except OSError as error:
        raise WrongCall(f"settings file {path} cannot be read: {error.strerror}; mend its rights") from error


def _unknown_line(name: str) -> str:
    near = process.extractOne(name, list(Settings.model_fields), score_cutoff=60)
    hint = f"did you mean {near[0]!r}?" if near else "the README lists the settings"
    return f"settings file {settings_file()}: no setting is called {name!r}; {hint}"


def _bad_value_line(error: ValidationError, written: dict[str, Any]) -> str:
    first = error.errors()[0]
    name = str(first["loc"][0]) if first["loc"] else "?"
    variable = PREFIX + name.upper()
    in_file = name in written and variable not in os.environ
    where = f"{name} in {settings_file()}" if in_file else variable
    says = first["msg"].removeprefix("Value error, ")
    example = (Settings.model_fields[name].examples or ["?"])[0] if name in Settings.model_fields else "?"
    return f"setting {where}: {says}; write it like {example!r}"
