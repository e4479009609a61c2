"""Secrets stay out of what is logged."""

from __future__ import annotations

import io
import logging

import pytest

from bot.messengers.redaction import keep_out_of_logs

SECRET = "700001:never-to-be-read"


@pytest.fixture
def log() -> io.StringIO:
    keep_out_of_logs(SECRET, None, "")
    written = io.StringIO()
    logger = logging.getLogger("somebody.elses.library")
    handler = logging.StreamHandler(written)
    logger.addHandler(handler)
    logger.setLevel(logging.INFO)
    yield written  # type: ignore[misc]
    logger.removeHandler(handler)


def test_neither_message_nor_arguments_nor_trace_show_it(log: io.StringIO) -> None:
    logger = logging.getLogger("somebody.elses.library")
    logger.info("HTTP Request: POST %s %d", f"https://host/bot{SECRET}/getMe", 200)
    logger.info("plain " + SECRET)
    try:
        raise ValueError(f"no such token {SECRET}")
    except ValueError:
        logger.exception("failed")
    said = log.getvalue()
    assert SECRET not in said
    assert "HTTP Request: POST https://host/bot[secret]/getMe 200" in said
    assert "ValueError: no such token [secret]" in said


def test_other_lines_are_as_they_were(log: io.StringIO) -> None:
    logger = logging.getLogger("somebody.elses.library")
    logger.info("%d of %s", 3, {"a": 1})
    assert log.getvalue() == "3 of {'a': 1}\n"
