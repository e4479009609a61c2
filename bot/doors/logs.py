"""Structured logs for whoever runs a bot: one JSON object a line, without people's words.

Each turn leaves a line that says what kind of thing happened in which chat; with ``log_texts`` also
the words, for finding a fault.
"""

from __future__ import annotations

import json
import logging
from datetime import UTC, datetime

from scheduler.turn import Answering, Due, Inbound, Outcome, Snapshot

log = logging.getLogger(__name__)

_PLAIN = frozenset(vars(logging.makeLogRecord({}))) | {"message", "asctime", "taskName"}
#: Libraries whose chatter is about each single call.
_NOISY = ("alembic", "httpx", "httpcore", "telegram", "apscheduler", "tornado.access")


class JsonLines(logging.Formatter):
    """A record as one line of JSON, with whatever ``extra`` it carries."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        line = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "says": record.getMessage(),
            **{key: value for key, value in vars(record).items() if key not in _PLAIN},
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        elif record.exc_text:
            line["trace"] = record.exc_text
        return json.dumps(line, ensure_ascii=False, default=str)


def start() -> None:
    """Log to standard error from now on."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    root.handlers = [handler]
    root.setLevel(logging.INFO)
    for name in _NOISY:
        logging.getLogger(name).setLevel(logging.WARNING)


class Logged:
    """The talking layer, with a log line for every turn."""

    def __init__(self, inner: Answering, *, texts: bool) -> None:
        self._inner = inner
        self._texts = texts

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        """As the talking layer answers."""
        outcome = self._inner.answer(snapshot, inbound)
        heard = (outcome.heard or {}).get("intent")
        self._log("answered", inbound.chat, outcome, {"heard": heard}, inbound.text)
        return outcome

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        """As the talking layer rings."""
        outcome = self._inner.ring(snapshot, due)
        about = {"stage": due.ring.stage, "what": due.ring.what, "late_s": due.late_s, "again": due.again}
        self._log("rang", due.chat, outcome, about, "")
        return outcome

    def _log(self, says: str, chat: str, outcome: Outcome, about: dict[str, object], words: str) -> None:
        extra = {"chat": chat, **about, "messages": len(outcome.messages)}
        if self._texts:
            extra |= {"heard_words": words, "said_words": [message.text for message in outcome.messages]}
        log.info(says, extra=extra)
