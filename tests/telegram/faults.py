"""What can go wrong between the bot and the Bot API, to be put in the way of a method call."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Fault:
    """One failure. ``after`` lets the call have its effect first, so that only the answer is lost."""

    status: int = 200
    body: str = ""
    kind: str = "text/html"
    hang_s: float = 0.0
    cut: bool = False
    after: bool = False
    refusal: dict[str, Any] = field(default_factory=dict)


def refused(code: int, description: str, **parameters: Any) -> Fault:
    """The Bot API says no, in its own form."""
    return Fault(status=code, refusal=refusal(code, description, **parameters))


def flooded(retry_after_s: int) -> Fault:
    """Too many messages: try again after that many seconds."""
    return refused(429, f"Too Many Requests: retry after {retry_after_s}", retry_after=retry_after_s)


def broken(status: int = 502) -> Fault:
    """A gateway's page instead of an answer."""
    return Fault(status=status, body=f"<html><title>{status}</title><body>Bad Gateway</body></html>")


def hanging(seconds: float, *, after: bool = False) -> Fault:
    """No answer for so long; with ``after`` the message has been taken all the same."""
    return Fault(status=504, hang_s=seconds, after=after)


def cut(*, after: bool = False) -> Fault:
    """The connection is cut; with ``after`` the message has been taken all the same."""
    return Fault(cut=True, after=after)


def refusal(code: int, description: str, **parameters: Any) -> dict[str, Any]:
    """The JSON of a refusal."""
    out: dict[str, Any] = {"ok": False, "error_code": code, "description": description}
    return out | ({"parameters": parameters} if parameters else {})
