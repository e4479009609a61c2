"""Find what each finished batch taught, whatever the number of batches"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index(
        "ix_entries_lessons",
        "entries",
        ["chat", "batch", "number"],
        sqlite_where=sa.text("kind = 'lesson'"),
        postgresql_where=sa.text("kind = 'lesson'"),
    )


def downgrade() -> None:
    op.drop_index("ix_entries_lessons", "entries")
