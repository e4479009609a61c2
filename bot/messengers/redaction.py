"""Secrets stay out of logs, whoever writes the log line."""

from __future__ import annotations

import logging
from typing import Any

REDACTED = "[secret]"
_secrets: set[str] = set()
_plain_record = logging.getLogRecordFactory()


def keep_out_of_logs(*secrets: str | None) -> None:
    """From now on no log record of this process contains any of these.

    Libraries log addresses with the token in them, at loggers and handlers of their own, so records
    are cleaned where they are made and not by a filter that one handler may lack.
    """
    _secrets.update(secret for secret in secrets if secret)
    logging.setLogRecordFactory(_clean_record)


def redact(text: str) -> str:
    """The text without any secret."""
    for secret in _secrets:
        text = text.replace(secret, REDACTED)
    return text


def _clean_record(*args: Any, **kwargs: Any) -> logging.LogRecord:
    record = _plain_record(*args, **kwargs)
    try:
        said = record.getMessage()
    except (TypeError, ValueError):
        # Arguments that don't fit the format: the handler says so, and shows them.
        said = f"{record.msg} {record.args}"
    if redact(said) != said:
        record.msg, record.args = redact(said), ()
    if record.exc_info and record.exc_info[0] is not None:
        trace = logging.Formatter().formatException(record.exc_info)
        if redact(trace) != trace:
            record.exc_text, record.exc_info = redact(trace), None
    return record
