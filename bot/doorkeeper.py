"""Who is answered: chats on the allow list, and chats that gave the invite word.

Strangers get one polite line and leave no trace but a count of tries, kept in memory only, so
that nobody can guess the invite word by trying.
"""

from __future__ import annotations

import hashlib
import hmac
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import Enum

#: Wrong words that a chat or a person may give before the invite word is no longer listened to.
TRIES = 5
#: How long it is then not listened to.
PAUSE = timedelta(hours=1)
#: How long a stranger is not told the polite line again.
TOLD = timedelta(days=1)
#: Strangers remembered at once; the longest silent is forgotten first.
REMEMBERED = 10_000


class Ruling(Enum):
    """What to do with a message."""

    #: Answer it.
    SERVE = "serve"
    #: It is the invite word: remember this chat, and greet it.
    WELCOME = "welcome"
    #: Say the polite line, keep nothing.
    DECLINE = "decline"
    #: Say and keep nothing: this stranger has heard the line already.
    IGNORE = "ignore"


@dataclass
class _Stranger:
    tries: int = 0
    locked_until: datetime | None = None
    told_at: datetime | None = None


@dataclass
class Doorkeeper:
    """Rules on each message. An ``invite`` of None lets nobody in by word."""

    allowed: frozenset[str] = frozenset()
    invite: str | None = None
    _strangers: OrderedDict[str, _Stranger] = field(default_factory=OrderedDict)

    @classmethod
    def of(cls, allowed: Iterable[str], invite: str | None) -> Doorkeeper:
        """A doorkeeper by the settings; an empty invite word is none."""
        return cls(frozenset(allowed), invite or None)

    def is_invite(self, text: str) -> bool:
        """Whether this is the invite word."""
        return self.invite is not None and _same_word(text, self.invite)

    def rule(self, chat: str, sender: str, text: str, now: datetime, *, known: bool = False) -> Ruling:
        """Rule on a message. ``known`` says that the chat gave the word before.

        The tries of a chat and of a sender both count, so that neither a second group nor a second
        person in the group gives more of them.
        """
        if known or chat in self.allowed:
            return Ruling.SERVE
        trying = [self._stranger(f"chat {chat}"), self._stranger(f"sender {sender}")]
        if any(one.locked_until and now < one.locked_until for one in trying):
            return self._decline(trying[0], now)
        if self.is_invite(text):
            return Ruling.WELCOME
        if text.strip():
            _count(trying, now)
        return self._decline(trying[0], now)

    def _stranger(self, name: str) -> _Stranger:
        one = self._strangers.setdefault(name, _Stranger())
        self._strangers.move_to_end(name)
        if len(self._strangers) > REMEMBERED:
            self._strangers.popitem(last=False)
        return one

    @staticmethod
    def _decline(chat: _Stranger, now: datetime) -> Ruling:
        if chat.told_at is not None and now < chat.told_at + TOLD:
            return Ruling.IGNORE
        chat.told_at = now
        return Ruling.DECLINE


def _count(trying: Iterable[_Stranger], now: datetime) -> None:
    for one in trying:
        one.tries += 1
        if one.tries >= TRIES:
            one.tries, one.locked_until = 0, now + PAUSE


def _same_word(given: str, wanted: str) -> bool:
    """Compare in a time that tells neither length nor common beginning; a phone's capital is no matter."""

    def digest(word: str) -> bytes:
        return hashlib.sha256(word.strip().casefold().encode("utf-8", "surrogatepass")).digest()

    return hmac.compare_digest(digest(given), digest(wanted))
