"""In which order the students of a sitting joined, also within one second."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Of old records only the seconds are known."""
    op.add_column("places", sa.Column("joined", sa.Integer, nullable=False, server_default="0"))
