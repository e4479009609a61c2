"""Whether Telegram can be reached and knows the token."""

from __future__ import annotations

from telegram.error import InvalidToken, TelegramError

from bot.complaints import WorkFailed
from bot.messengers.redaction import keep_out_of_logs, redact
from bot.messengers.wire import BAD_TOKEN, make_bot


async def bot_name(token: str, api_url: str, answer_within_s: float) -> str:
    """Who Telegram says this bot is. Raises WorkFailed where it does not say so."""
    keep_out_of_logs(token)
    bot = make_bot(token, api_url, answer_within_s)
    try:
        return (await bot.get_me()).username or ""
    except InvalidToken:
        raise WorkFailed(BAD_TOKEN) from None
    except TelegramError as error:
        raise WorkFailed(
            f"{api_url} does not answer as Telegram does ({redact(str(error))}): see that this machine reaches it"
        ) from None
    finally:
        await bot.shutdown()
