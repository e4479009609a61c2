"""Reading: what the newest finished batches taught, without their journals."""

from __future__ import annotations

from sqlalchemy import Connection, and_, exists, func, select

from scheduler.rows import entry_of
from scheduler.tables import batches, entries, is_lesson
from scheduler.turn import Taught

#: Batches whose lessons an answer sees; far more than a rig's memory.
NEWEST = 60


def newest(c: Connection, chat: str) -> tuple[Taught, ...]:
    """Return the newest lesson of each of the newest batches that have one, oldest first.

    A lesson that a later entry voids is left out; an older one does not take its place.
    """
    last = (
        select(entries.c.batch, func.max(entries.c.number).label("number"))
        .where(entries.c.chat == chat, is_lesson)
        .group_by(entries.c.batch)
        .order_by(entries.c.batch.desc())
        .limit(NEWEST)
        .subquery()
    )
    later = entries.alias()
    length = select(func.max(later.c.number)).where(later.c.chat == chat, later.c.batch == entries.c.batch)
    voided = exists().where(
        later.c.chat == chat,
        later.c.batch == entries.c.batch,
        later.c.number > entries.c.number,
        later.c.voids == entries.c.number,
    )
    found = (
        select(entries, batches.c.name, length.scalar_subquery().label("length"))
        .join(last, and_(last.c.batch == entries.c.batch, last.c.number == entries.c.number))
        .join(batches, and_(batches.c.chat == entries.c.chat, batches.c.number == entries.c.batch))
        .where(entries.c.chat == chat, ~voided)
        .order_by(entries.c.batch)
    )
    return tuple(Taught(row.batch, row.name, entry_of(row), row.length) for row in c.execute(found))
