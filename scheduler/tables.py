"""The tables. Instants are UTC microseconds; ``batch`` 0 stands for the chat itself."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    UniqueConstraint,
    and_,
    literal_column,
    true,
)

from scheduler.columns import Instant, Json, RowId, Words

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

#: ``version`` counts the chat's commits: an outcome reckoned from an older one is refused.
chats = Table(
    "chats",
    metadata,
    Column("id", Words, primary_key=True),
    Column("version", Integer, nullable=False),
    Column("zone", Words, nullable=False),
    Column("units", Words),
    Column("quiet_from", String(5), nullable=False),
    Column("quiet_to", String(5), nullable=False),
    Column("welcome", Boolean, nullable=False),
    Column("memory", Json, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("gone_at", Instant),
    Column("forgotten_at", Instant),
)

batches = Table(
    "batches",
    metadata,
    Column("chat", Words, primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("name", Words, nullable=False),
    Column("opened_at", Instant, nullable=False),
    Column("closed_at", Instant),
)

entries = Table(
    "entries",
    metadata,
    Column("chat", Words, primary_key=True),
    Column("batch", Integer, primary_key=True, autoincrement=False),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(16), nullable=False),
    Column("happened_at", Instant, nullable=False),
    Column("told_at", Instant, nullable=False),
    Column("who", Words, nullable=False),
    Column("data", Json, nullable=False),
    Column("words", Words, nullable=False),
    Column("voids", Integer),
    ForeignKeyConstraint(["chat", "batch"], ["batches.chat", "batches.number"], onupdate="CASCADE", ondelete="CASCADE"),
)

#: Written out rather than bound, as for the reminders below.
is_lesson = entries.c.kind == literal_column("'lesson'")
Index(
    "ix_entries_lessons",
    entries.c.chat,
    entries.c.batch,
    entries.c.number,
    sqlite_where=is_lesson,
    postgresql_where=is_lesson,
)

#: ``state``: pending, rung, dropped (its use was over), parked (the chat is gone), aside (it broke).
#: ``call_at`` is ``due``, or later where a first try to say it failed.
reminders = Table(
    "reminders",
    metadata,
    Column("id", RowId, primary_key=True),
    Column("chat", Words, nullable=False),
    Column("batch", Integer, nullable=False),
    Column("key", Words, nullable=False),
    Column("due", Instant, nullable=False),
    Column("call_at", Instant, nullable=False),
    Column("what", Words, nullable=False),
    Column("stage", Words, nullable=False),
    Column("lot", Words),
    Column("protects", Boolean, nullable=False),
    Column("useful_until", Instant),
    Column("data", Json, nullable=False),
    Column("again", Integer, nullable=False, default=0),
    Column("state", String(8), nullable=False, default="pending"),
    Column("worker", String(40)),
    Column("failures", Integer, nullable=False, default=0),
    Column("trace", Words),
    UniqueConstraint("chat", "batch", "key"),
    sqlite_autoincrement=True,
)
#: Written out rather than bound, as in the indexes: else no planner would know that they apply.
is_pending = reminders.c.state == literal_column("'pending'")
Index(
    "ix_reminders_due",
    reminders.c.protects,
    reminders.c.call_at,
    reminders.c.id,
    sqlite_where=is_pending & reminders.c.worker.is_(None),
    postgresql_where=is_pending & reminders.c.worker.is_(None),
)
Index(
    "ix_reminders_worker",
    reminders.c.worker,
    sqlite_where=reminders.c.worker.is_not(None),
    postgresql_where=reminders.c.worker.is_not(None),
)

#: ``state``: new, done, aside. ``key`` outlives the rest of a row, so that nothing counts twice.
inbox = Table(
    "inbox",
    metadata,
    Column("id", RowId, primary_key=True),
    Column("key", Words, nullable=False, unique=True),
    Column("chat", Words, nullable=False),
    Column("body", Json, nullable=False),
    Column("received_at", Instant, nullable=False),
    Column("state", String(8), nullable=False, default="new"),
    Column("failures", Integer, nullable=False, default=0),
    Column("deaths", Integer, nullable=False, default=0),
    Column("trace", Words),
    sqlite_autoincrement=True,
)
is_new = inbox.c.state == literal_column("'new'")
Index(
    "ix_inbox_new",
    inbox.c.chat,
    inbox.c.id,
    sqlite_where=is_new,
    postgresql_where=is_new,
)
Index("ix_inbox_received_at", inbox.c.received_at)

#: ``state``: queued, sent, unsure (perhaps sent twice), refused, expired, gone (nobody there),
#: passed (newer words of the same card stand behind it).
outbox = Table(
    "outbox",
    metadata,
    Column("id", RowId, primary_key=True),
    Column("chat", Words, nullable=False),
    Column("created_at", Instant, nullable=False),
    Column("text", Words, nullable=False),
    Column("buttons", Json, nullable=False),
    Column("facts", Json, nullable=False),
    Column("files", Json, nullable=False),
    Column("urgent", Boolean, nullable=False),
    Column("silent", Boolean, nullable=False),
    Column("pin", Words),
    Column("fleeting", Boolean, nullable=False),
    Column("taken", Boolean, nullable=False, default=False),
    Column("state", String(8), nullable=False, default="queued"),
    Column("attempts", Integer, nullable=False, default=0),
    Column("unsure", Boolean, nullable=False, default=False),
    Column("messenger_id", Words),
    Column("sent_at", Instant),
    Column("trace", Words),
    sqlite_autoincrement=True,
)
is_queued = outbox.c.state == literal_column("'queued'")
Index("ix_outbox_chat", outbox.c.chat, outbox.c.id)
Index(
    "ix_outbox_queued",
    outbox.c.chat,
    outbox.c.id,
    sqlite_where=is_queued,
    postgresql_where=is_queued,
)

#: The pinned message of each key: see :mod:`scheduler.cards`. ``shown`` and ``pinned`` are the messenger's ids.
cards = Table(
    "cards",
    metadata,
    Column("chat", Words, primary_key=True),
    Column("key", Words, primary_key=True),
    Column("newest", BigInteger),
    Column("shown", Words),
    Column("pinned", Words),
    Column("over", Boolean, nullable=False),
    Column("refused", Boolean, nullable=False),
)

#: A chat's queue in one direction (``way``: in, out), held by one worker at a time.
#: ``next_slot`` is where the chat's rate stands (generic cell rate algorithm).
lanes = Table(
    "lanes",
    metadata,
    Column("chat", Words, primary_key=True),
    Column("way", String(3), primary_key=True),
    Column("waiting", Boolean, nullable=False),
    Column("urgent", Boolean, nullable=False),
    Column("since", Instant, nullable=False),
    Column("not_before", Instant),
    Column("next_slot", Instant),
    Column("worker", String(40)),
)
is_free = and_(lanes.c.waiting == true(), lanes.c.worker.is_(None))
Index(
    "ix_lanes_free",
    lanes.c.way,
    lanes.c.urgent.desc(),
    lanes.c.since,
    lanes.c.chat,
    sqlite_where=is_free,
    postgresql_where=is_free,
)
Index(
    "ix_lanes_worker",
    lanes.c.worker,
    sqlite_where=lanes.c.worker.is_not(None),
    postgresql_where=lanes.c.worker.is_not(None),
)

cursors = Table(
    "cursors",
    metadata,
    Column("source", String(64), primary_key=True),
    Column("value", Words, nullable=False),
)

#: Whoever takes work. One whose ``alive_until`` is over (by the database's clock) has lost its leases.
workers = Table(
    "workers",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("alive_until", Instant, nullable=False),
    Column("started_at", Instant, nullable=False),
    Column("name", Words, nullable=False),
)
