"""Long polling: what comes in is in the store before Telegram is told that it was received."""

from __future__ import annotations

import asyncio
import logging

from telegram import Bot
from telegram.error import Conflict, EndPointNotFound, InvalidToken, TelegramError

from bot.complaints import WorkFailed
from bot.messengers.intake import Intake, RawUpdate
from bot.messengers.patience import pause, pause_s, unless, until_done
from bot.messengers.shift import Shift
from bot.messengers.updates import KINDS
from scheduler.clock import Clock
from scheduler.persistence import persist
from scheduler.store import Store

log = logging.getLogger(__name__)

LONG_POLL_S = 25
#: For how long after its start a bot that is cut off by another one gives way to it.
PROBATION_S = 30.0
#: How long an established bot waits before it polls again: less than a newcomer's probation.
GIVE_WAY_S = 3.0
#: How often one that stands by looks whether it is to fetch.
STAND_BY_S = 5.0

OTHER_POLLER = "another program fetches this bot's messages: stop it first, or give this one a token of its own"
#: The library's own getUpdates reads a batch whole: one update that it cannot read would hold back
#: the others, and be logged with its text. Under this name (names have no case at Telegram) the
#: batch comes as it is.
GET_UPDATES = "GetUpdates"


class Polling:
    """Fetches updates and hands them to the intake until it is stopped.

    Where several workers share a database, one of them fetches and the others stand by.
    """

    def __init__(self, bot: Bot, store: Store, clock: Clock, intake: Intake) -> None:
        self._bot = bot
        self._intake = intake
        self._shift = Shift(store, clock, f"telegram:{bot.id}")
        self._probation_s = PROBATION_S

    async def run(self, stop: asyncio.Event) -> None:
        """Fetch until ``stop``. Raises WorkFailed where a stranger to this database polls, InvalidToken."""
        # A webhook forbids polling. What waits at Telegram stays there.
        await until_done(stop, self._bot.delete_webhook, "removing the webhook")
        while not stop.is_set():
            if await persist(self._shift.mine):
                await self._fetch_on(stop)
            else:
                await pause(stop, STAND_BY_S)
        await self._shift.hand_over()

    async def _fetch_on(self, stop: asyncio.Event) -> None:
        """Fetch until ``stop``, or until another worker of this database proves to do so."""
        started, failed = asyncio.get_running_loop().time(), 0
        offset = await persist(self._shift.offset)
        while not stop.is_set():
            try:
                updates = await unless(stop, self._fetch(offset))
            except (InvalidToken, EndPointNotFound):
                # One and the same answer to a token withdrawn and to a method that is not there.
                raise InvalidToken from None
            except Conflict as conflict:
                if asyncio.get_running_loop().time() > started + self._probation_s:
                    log.warning(OTHER_POLLER)
                    await pause(stop, GIVE_WAY_S)
                elif await persist(self._shift.shared):
                    await pause(stop, STAND_BY_S)
                    return
                else:
                    raise WorkFailed(OTHER_POLLER) from conflict
            except TelegramError as error:
                failed += 1
                log.warning("fetching failed: %s", error, extra={"attempt": failed})
                await pause(stop, pause_s(error, failed))
            else:
                failed, offset = 0, await self._take(updates, offset)

    async def _fetch(self, offset: int | None) -> list[RawUpdate]:
        params = {"timeout": LONG_POLL_S, "allowed_updates": list(KINDS)}
        params |= {"offset": offset} if offset is not None else {}
        found = await self._bot.do_api_request(GET_UPDATES, api_kwargs=params, read_timeout=LONG_POLL_S + 10)
        return found if isinstance(found, list) else []

    async def _take(self, updates: list[RawUpdate] | None, offset: int | None) -> int | None:
        """Store the updates; the offset that acknowledges them, or None where there is nothing to."""
        if not updates:
            # Nothing came, or the call was broken off (None): then nothing is known of the offset.
            if updates is not None:
                await persist(self._shift.keep, offset)
            return None
        offset = max(int(update["update_id"]) for update in updates) + 1
        await persist(self._intake.take, updates, self._shift.cursor(offset))
        return offset
