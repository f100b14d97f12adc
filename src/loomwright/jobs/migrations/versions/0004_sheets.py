"""Sheets of board among the stock."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Columns for what a sheet has."""
    op.add_column("stock", sa.Column("width_mm", sa.Float()))
    op.add_column("stock", sa.Column("thickness_mm", sa.Float()))
    op.add_column("stock", sa.Column("material", sa.String(16), nullable=False, server_default=""))
