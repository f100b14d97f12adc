"""What is done, measured and signed while a job is built."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "act",
        sa.Column("job_id", sa.String(16), sa.ForeignKey("job.id"), primary_key=True),
        sa.Column("id", sa.String(40), primary_key=True),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(16), nullable=False),
        sa.Column("step", sa.Text(), nullable=False),
        sa.Column("kind", sa.String(8), nullable=False),
        sa.Column("measure", sa.Text(), nullable=False),
        sa.Column("value", sa.Float()),
        sa.Column("unit", sa.String(16), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("photo_id", sa.String(16), sa.ForeignKey("photo.id")),
        sa.Column("of", sa.String(40), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("came_at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.UniqueConstraint("job_id", "n", name="act_in_order"),
    )
