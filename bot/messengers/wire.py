"""The library's bot, set up for this tool: time limits, and nobody's words in the library's logs."""

from __future__ import annotations

import json
import re
from typing import Any

from telegram import Bot
from telegram.error import NetworkError
from telegram.request import HTTPXRequest

from bot.complaints import WorkFailed

API_URL = "https://api.telegram.org"
TOKEN_FORM = re.compile(r"[0-9]{1,20}:[A-Za-z0-9_-]{1,200}")
BAD_TOKEN = (
    "Telegram does not accept the token: ask @BotFather for it (/mybots, API Token) and set it as "
    "BRINEBELL_TOKEN or as token in the settings file"
)
#: Uploads may take this many times as long as an answer.
UPLOAD = 3


class Unreadable(NetworkError):
    """Something answered, and it was not the Bot API's JSON."""


class Request(HTTPXRequest):
    """The library's request, whose own way with an unreadable answer is to log it with its texts."""

    @staticmethod
    def parse_json_payload(payload: bytes) -> dict[str, Any]:
        """The answer as JSON. Raises Unreadable where it has neither a result nor a refusal."""
        try:
            answer = json.loads(payload)
        except ValueError:
            raise Unreadable("the answer is no JSON") from None
        if not isinstance(answer, dict) or not answer.keys() & {"result", "description"}:
            raise Unreadable("the answer is neither a result nor a refusal")
        return answer


def make_bot(token: str, api_url: str = API_URL, answer_within_s: float = 20.0) -> Bot:
    """The library's bot. Raises WorkFailed for what cannot be a token."""
    if not TOKEN_FORM.fullmatch(token):
        raise WorkFailed(BAD_TOKEN)
    base, wait_s = api_url.rstrip("/"), answer_within_s
    return Bot(
        token,
        base_url=f"{base}/bot",
        base_file_url=f"{base}/file/bot",
        request=Request(
            connection_pool_size=64,
            read_timeout=wait_s,
            write_timeout=wait_s,
            connect_timeout=wait_s,
            pool_timeout=wait_s,
            media_write_timeout=UPLOAD * wait_s,
        ),
    )
