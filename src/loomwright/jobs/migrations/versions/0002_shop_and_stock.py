"""The shop's settings and catalogue, and its stock."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "shop",
        sa.Column("key", sa.String(16), primary_key=True),
        sa.Column("number", sa.Integer(), autoincrement=False, primary_key=True),
        sa.Column("parent", sa.Integer(), nullable=False),
        sa.Column("side", sa.Boolean(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
    )
    op.create_table(
        "stock",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("part", sa.String(80), nullable=False),
        sa.Column("size", sa.String(16), nullable=False),
        sa.Column("metal", sa.String(16), nullable=False),
        sa.Column("insulation_c", sa.Integer()),
        sa.Column("colour", sa.String(16), nullable=False),
        sa.Column("length_mm", sa.Float()),
        sa.Column("type", sa.String(16), nullable=False),
        sa.Column("rating_a", sa.Float()),
        sa.Column("count", sa.Integer()),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.Column("deleted_at", sa.BigInteger()),
    )
