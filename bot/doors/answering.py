"""Where the doors get the talking layer from; late, because it draws in the whole tool."""

from __future__ import annotations

from importlib import import_module

from scheduler.turn import Answering


def answering() -> Answering:
    """The conversation that every door leads to."""
    made: Answering = import_module("bot.conversation").Conversation()
    return made
