"""Keep which card is pinned

A table of its own: processes of the version before go on beside it and never look at it.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from scheduler.columns import Words

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "cards",
        sa.Column("chat", Words(), nullable=False),
        sa.Column("key", Words(), nullable=False),
        sa.Column("newest", sa.BigInteger(), nullable=True),
        sa.Column("shown", Words(), nullable=True),
        sa.Column("pinned", Words(), nullable=True),
        sa.Column("over", sa.Boolean(), nullable=False),
        sa.Column("refused", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("chat", "key", name="pk_cards"),
    )


def downgrade() -> None:
    op.drop_table("cards")
