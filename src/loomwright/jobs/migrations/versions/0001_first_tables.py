"""First tables: jobs, documents with their revisions, photographs, marks, readings, and the change feed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    feed = op.create_table(
        "feed",
        sa.Column("id", sa.Integer(), autoincrement=False, primary_key=True),
        sa.Column("n", sa.BigInteger(), nullable=False),
    )
    op.bulk_insert(feed, [{"id": 1, "n": 0}])
    op.create_table(
        "change",
        sa.Column("n", sa.BigInteger(), autoincrement=False, primary_key=True),
        sa.Column("job_id", sa.String(16), nullable=False),
        sa.Column("what", sa.String(16), nullable=False),
        sa.Column("key", sa.String(80), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
    )
    op.create_table(
        "job",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("title", sa.String(200), nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("changed_at", sa.BigInteger(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.Column("deleted_at", sa.BigInteger()),
    )
    op.create_table(
        "document",
        sa.Column("job_id", sa.String(16), sa.ForeignKey("job.id"), primary_key=True),
        sa.Column("kind", sa.String(8), primary_key=True),
        sa.Column("key", sa.String(80), primary_key=True),
        sa.Column("head", sa.Integer(), nullable=False),
        sa.Column("tip", sa.Integer(), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
    )
    op.create_table(
        "revision",
        sa.Column("job_id", sa.String(16), primary_key=True),
        sa.Column("kind", sa.String(8), primary_key=True),
        sa.Column("key", sa.String(80), primary_key=True),
        sa.Column("number", sa.Integer(), autoincrement=False, primary_key=True),
        sa.Column("parent", sa.Integer(), nullable=False),
        sa.Column("side", sa.Boolean(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.ForeignKeyConstraint(["job_id", "kind", "key"], ["document.job_id", "document.kind", "document.key"]),
    )
    op.create_table(
        "photo",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("job_id", sa.String(16), sa.ForeignKey("job.id"), nullable=False, index=True),
        sa.Column("place", sa.String(80), nullable=False),
        sa.Column("caption", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("media_type", sa.String(16), nullable=False),
        sa.Column("width_px", sa.Integer(), nullable=False),
        sa.Column("height_px", sa.Integer(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.Column("deleted_at", sa.BigInteger()),
    )
    op.create_table(
        "mark",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("photo_id", sa.String(16), sa.ForeignKey("photo.id"), nullable=False, index=True),
        sa.Column("x_pct", sa.Float(), nullable=False),
        sa.Column("y_pct", sa.Float(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("deleted_at", sa.BigInteger()),
    )
    op.create_table(
        "reading",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("job_id", sa.String(16), sa.ForeignKey("job.id"), nullable=False, index=True),
        sa.Column("where", sa.String(80), nullable=False),
        sa.Column("quantity", sa.String(80), nullable=False),
        sa.Column("value", sa.Float(), nullable=False),
        sa.Column("unit", sa.String(16), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.Column("deleted_at", sa.BigInteger()),
    )
