"""Reading: what the newest finished batches taught, without their journals."""

from __future__ import annotations

from sqlalchemy import BindParameter, Connection, bindparam, exists, func, select

from scheduler.rows import entry_of
from scheduler.tables import batches, entries, is_lesson
from scheduler.turn import Taught

#: Batches whose lessons an answer sees; more than a rig's memory.
NEWEST = 40

# Written once: by the index of lessons alone, from its end; then by the primary key, a few rows a batch.
_chat: BindParameter[str] = bindparam("chat")
_numbers: BindParameter[int] = bindparam("numbers", expanding=True)
_other = entries.alias()
_here = (_other.c.chat == _chat) & (_other.c.batch == entries.c.batch)
_voided = exists().where(_here, _other.c.number > entries.c.number, _other.c.voids == entries.c.number)
_length = select(func.max(_other.c.number)).where(_here).scalar_subquery()
_LAST = (
    select(entries.c.batch)
    .where(entries.c.chat == _chat, is_lesson)
    .group_by(entries.c.batch)
    .order_by(entries.c.batch.desc())
    .limit(NEWEST)
)
_LESSONS = (
    select(entries, batches.c.name, _length.label("length"), _voided.label("voided"))
    .join(batches, (batches.c.chat == entries.c.chat) & (batches.c.number == entries.c.batch))
    .where(entries.c.chat == _chat, is_lesson, entries.c.batch.in_(_numbers))
    .order_by(entries.c.batch, entries.c.number)
)


def newest(c: Connection, chat: str) -> tuple[Taught, ...]:
    """Return the newest lesson of each of the newest batches that have one, oldest first.

    A lesson that a later entry voids is left out; an older one does not take its place.
    """
    numbers = c.execute(_LAST, {"chat": chat}).scalars().all()
    if not numbers:
        return ()
    last = {row.batch: row for row in c.execute(_LESSONS, {"chat": chat, "numbers": numbers})}
    return tuple(Taught(row.batch, row.name, entry_of(row), row.length) for row in last.values() if not row.voided)
