"""What a messenger hands in: a message as it came, with a pressed button not yet looked up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from scheduler.columns import clean
from scheduler.turn import Inbound, Photo


@dataclass(frozen=True)
class Tap:
    """A pressed button as the messenger reports it.

    Either ``message`` (the ``Outgoing.id`` it stood under) and ``index`` (its place there, from 0),
    or only ``label``: then the newest message of the chat with a button of that label is meant.
    """

    label: str = ""
    message: int | None = None
    index: int | None = None


@dataclass(frozen=True)
class Arrival:
    """One thing that came in. ``inbound.press`` stays None: the store looks ``tap`` up."""

    inbound: Inbound
    tap: Tap | None = None


@dataclass(frozen=True)
class Cursor:
    """How far a messenger's stream has been read, kept in the same transaction as what was read."""

    source: str
    value: str


def body_of(arrival: Arrival) -> dict[str, Any]:
    """Return an arrival as the JSON kept in the inbox (without its key and chat)."""
    inbound, tap = arrival.inbound, arrival.tap
    body: dict[str, Any] = {
        "sender": inbound.sender,
        "sender_name": clean(inbound.sender_name),
        "chat_kind": inbound.chat_kind,
        "at": inbound.at.isoformat(),
        "text": clean(inbound.text),
        "addressed": inbound.addressed,
    }
    if inbound.photo is not None:
        body["photo"] = inbound.photo.path
    if tap is not None:
        body["tap"] = {"label": tap.label, "message": tap.message, "index": tap.index}
    return body


def arrival_of(key: str, chat: str, body: Mapping[str, Any]) -> Arrival:
    """Return the arrival that :func:`body_of` made ``body`` of."""
    inbound = Inbound(
        key=key,
        chat=chat,
        sender=body["sender"],
        sender_name=body["sender_name"],
        chat_kind=body["chat_kind"],
        at=datetime.fromisoformat(body["at"]),
        text=body["text"],
        photo=Photo(body["photo"]) if "photo" in body else None,
        addressed=body.get("addressed", False),  # a process of the version before wrote none
    )
    return Arrival(inbound, Tap(**body["tap"]) if "tap" in body else None)
