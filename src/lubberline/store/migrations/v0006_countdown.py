"""When a lesson's countdown ends, and when its question is closed with it."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """No countdown runs in old records."""
    for name in ("countdown_utc", "closes_utc"):
        op.add_column("sittings", sa.Column(name, sa.Text, nullable=False, server_default=""))
