"""Make the tables"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from scheduler.columns import Instant, Json, RowId, Words

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "batches",
        sa.Column("chat", Words(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", Words(), nullable=False),
        sa.Column("opened_at", Instant(), nullable=False),
        sa.Column("closed_at", Instant(), nullable=True),
        sa.PrimaryKeyConstraint("chat", "number", name="pk_batches"),
    )
    op.create_table(
        "chats",
        sa.Column("id", Words(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("zone", Words(), nullable=False),
        sa.Column("units", Words(), nullable=True),
        sa.Column("quiet_from", sa.String(length=5), nullable=False),
        sa.Column("quiet_to", sa.String(length=5), nullable=False),
        sa.Column("welcome", sa.Boolean(), nullable=False),
        sa.Column("memory", Json(), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("gone_at", Instant(), nullable=True),
        sa.Column("forgotten_at", Instant(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_chats"),
    )
    op.create_table(
        "cursors",
        sa.Column("source", sa.String(length=64), nullable=False),
        sa.Column("value", Words(), nullable=False),
        sa.PrimaryKeyConstraint("source", name="pk_cursors"),
    )
    op.create_table(
        "inbox",
        sa.Column("id", RowId, nullable=False),
        sa.Column("key", Words(), nullable=False),
        sa.Column("chat", Words(), nullable=False),
        sa.Column("body", Json(), nullable=False),
        sa.Column("received_at", Instant(), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("deaths", sa.Integer(), nullable=False),
        sa.Column("trace", Words(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_inbox"),
        sa.UniqueConstraint("key", name="uq_inbox_key"),
        sqlite_autoincrement=True,
    )
    op.create_index(
        "ix_inbox_new",
        "inbox",
        ["chat", "id"],
        sqlite_where=sa.text("state = 'new'"),
        postgresql_where=sa.text("state = 'new'"),
    )
    op.create_index("ix_inbox_received_at", "inbox", ["received_at"])

    op.create_table(
        "lanes",
        sa.Column("chat", Words(), nullable=False),
        sa.Column("way", sa.String(length=3), nullable=False),
        sa.Column("waiting", sa.Boolean(), nullable=False),
        sa.Column("urgent", sa.Boolean(), nullable=False),
        sa.Column("since", Instant(), nullable=False),
        sa.Column("not_before", Instant(), nullable=True),
        sa.Column("next_slot", Instant(), nullable=True),
        sa.Column("worker", sa.String(length=40), nullable=True),
        sa.PrimaryKeyConstraint("chat", "way", name="pk_lanes"),
    )
    op.create_index(
        "ix_lanes_free",
        "lanes",
        ["way", sa.literal_column("urgent DESC"), "since", "chat"],
        sqlite_where=sa.text("waiting = 1 AND worker IS NULL"),
        postgresql_where=sa.text("waiting = true AND worker IS NULL"),
    )
    op.create_index(
        "ix_lanes_worker",
        "lanes",
        ["worker"],
        sqlite_where=sa.text("worker IS NOT NULL"),
        postgresql_where=sa.text("worker IS NOT NULL"),
    )

    op.create_table(
        "outbox",
        sa.Column("id", RowId, nullable=False),
        sa.Column("chat", Words(), nullable=False),
        sa.Column("created_at", Instant(), nullable=False),
        sa.Column("text", Words(), nullable=False),
        sa.Column("buttons", Json(), nullable=False),
        sa.Column("facts", Json(), nullable=False),
        sa.Column("files", Json(), nullable=False),
        sa.Column("urgent", sa.Boolean(), nullable=False),
        sa.Column("silent", sa.Boolean(), nullable=False),
        sa.Column("pin", Words(), nullable=True),
        sa.Column("fleeting", sa.Boolean(), nullable=False),
        sa.Column("taken", sa.Boolean(), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("unsure", sa.Boolean(), nullable=False),
        sa.Column("messenger_id", Words(), nullable=True),
        sa.Column("sent_at", Instant(), nullable=True),
        sa.Column("trace", Words(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_outbox"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_outbox_chat", "outbox", ["chat", "id"])
    op.create_index(
        "ix_outbox_queued",
        "outbox",
        ["chat", "id"],
        sqlite_where=sa.text("state = 'queued'"),
        postgresql_where=sa.text("state = 'queued'"),
    )

    op.create_table(
        "reminders",
        sa.Column("id", RowId, nullable=False),
        sa.Column("chat", Words(), nullable=False),
        sa.Column("batch", sa.Integer(), nullable=False),
        sa.Column("key", Words(), nullable=False),
        sa.Column("due", Instant(), nullable=False),
        sa.Column("call_at", Instant(), nullable=False),
        sa.Column("what", Words(), nullable=False),
        sa.Column("stage", Words(), nullable=False),
        sa.Column("lot", Words(), nullable=True),
        sa.Column("protects", sa.Boolean(), nullable=False),
        sa.Column("useful_until", Instant(), nullable=True),
        sa.Column("data", Json(), nullable=False),
        sa.Column("again", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("worker", sa.String(length=40), nullable=True),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("trace", Words(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_reminders"),
        sa.UniqueConstraint("chat", "batch", "key", name="uq_reminders_chat_batch_key"),
        sqlite_autoincrement=True,
    )
    op.create_index(
        "ix_reminders_due",
        "reminders",
        ["protects", "call_at", "id"],
        sqlite_where=sa.text("state = 'pending' AND worker IS NULL"),
        postgresql_where=sa.text("state = 'pending' AND worker IS NULL"),
    )
    op.create_index(
        "ix_reminders_worker",
        "reminders",
        ["worker"],
        sqlite_where=sa.text("worker IS NOT NULL"),
        postgresql_where=sa.text("worker IS NOT NULL"),
    )

    op.create_table(
        "workers",
        sa.Column("id", sa.String(length=40), nullable=False),
        sa.Column("alive_until", Instant(), nullable=False),
        sa.Column("started_at", Instant(), nullable=False),
        sa.Column("name", Words(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_workers"),
    )
    op.create_table(
        "entries",
        sa.Column("chat", Words(), nullable=False),
        sa.Column("batch", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("happened_at", Instant(), nullable=False),
        sa.Column("told_at", Instant(), nullable=False),
        sa.Column("who", Words(), nullable=False),
        sa.Column("data", Json(), nullable=False),
        sa.Column("words", Words(), nullable=False),
        sa.Column("voids", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["chat", "batch"],
            ["batches.chat", "batches.number"],
            name="fk_entries_chat_batch",
            onupdate="CASCADE",
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("chat", "batch", "number", name="pk_entries"),
    )


def downgrade() -> None:
    for table in (
        "entries", "workers", "reminders", "outbox", "lanes", "inbox", "cursors", "chats", "batches"
    ):  # fmt: skip
        op.drop_table(table)
