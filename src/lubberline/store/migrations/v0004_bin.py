"""The bin: deleted things, until they are brought back or expire."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Add the empty bin."""
    op.create_table(
        "bin",
        sa.Column("id", sa.Text, primary_key=True),
        *(
            sa.Column(name, sa.Text, nullable=False)
            for name in ("kind", "key", "part_of", "title", "counts", "binned_utc", "seen_utc")
        ),
        sa.Column("age_days", sa.Float, nullable=False),
        sa.Column("step", sa.Text, nullable=False),
        sa.Column("rows", sa.Text, nullable=False),
    )
