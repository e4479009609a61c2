"""The few lines that a door says by itself, beside the conversation."""

from __future__ import annotations

from scheduler.reminders import Claimed
from scheduler.turn import Inbound, Message

#: Words that Telegram offers in its menu, and what each is for; typed without the slash they do the same.
COMMANDS = (
    ("start", "what to type"),
    ("next", "what comes next, and when"),
    ("whats_on", "every batch that runs"),
    ("why", "the reasons for the last answer"),
    ("log", "what was recorded so far"),
    ("undo", "take the last thing back"),
    ("help", "what I understand"),
)


def sorry(about: Inbound | Claimed) -> Message:
    """What is said where a message or a reminder had to be set aside."""
    if isinstance(about, Inbound):
        return Message(
            "That went wrong on my side: nothing of it is recorded.\nPlease say it once more, a little differently."
        )
    return Message(f'A reminder went wrong on my side ({about.ring.what}, {about.ring.stage}).\nAsk me "what\'s next".')


class TelegramWords:
    """What the messenger itself says to people."""

    def not_served(self) -> str:
        """To somebody who is not served."""
        return "Hello. I only work for people who gave me the invite word; ask whoever runs me for it."

    def picture_not_kept(self) -> str:
        """To somebody whose picture could not be fetched, read or kept."""
        return "I could not keep that picture. Send it once more as a photo, smaller than 20 MB."

    def only_words_and_pictures(self) -> str:
        """To somebody who sent a voice note, a film, a file."""
        return "I read words and pictures only. Type it, for example: core 62 C."

    def card_not_pinned(self) -> str:
        """To a group in which the bot may not pin."""
        return (
            "I can't pin the batch's card in this group; it is further up and stays up to date.\n"
            'Let me pin messages (group settings, administrators), or ask "what\'s on" at any time.'
        )
