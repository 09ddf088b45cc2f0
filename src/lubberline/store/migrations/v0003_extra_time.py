"""Time beyond a sitting's limit for one student."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Nobody had any before."""
    op.add_column("places", sa.Column("extra_min", sa.Float, nullable=False, server_default="0"))
