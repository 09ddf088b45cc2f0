"""Unique codes and secrets, the time a sending took, and counts of deleted students."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

# Removes duplicates: the code of the later of two open sittings, the secret of the later of two places.
DOUBLE_CODES = """
    update sittings set code = '' where code <> '' and closed_utc = '' and exists (
        select 1 from sittings as other
        where other.code = sittings.code and other.closed_utc = '' and other.id < sittings.id)
"""
DOUBLE_SECRETS = """
    update places set secret_hash = '' where secret_hash <> '' and exists (
        select 1 from places as other
        where other.sitting = places.sitting and other.secret_hash = places.secret_hash
        and other.student < places.student)
"""
SECONDS = """
    update sendings set seconds = coalesce((
        select answers.seconds from answers
        where answers.sitting = sendings.sitting and answers.student = sendings.student
        and answers.sent = sendings.sent), 0)
"""


def upgrade() -> None:
    """Upgrade the first tables."""
    op.add_column("sendings", sa.Column("seconds", sa.Float, nullable=False, server_default="0"))
    op.execute(SECONDS)
    op.create_index("sendings_of_student", "sendings", ["student"])
    op.execute(DOUBLE_CODES)
    op.drop_index("sittings_by_code", "sittings")
    _unique_where("open_code", "sittings", ["code"], "code <> '' and closed_utc = ''")
    op.execute(DOUBLE_SECRETS)
    op.drop_index("places_by_secret", "places")
    _unique_where("place_of_secret", "places", ["sitting", "secret_hash"], "secret_hash <> ''")
    op.create_index("places_of_student", "places", ["student"])
    op.create_table(
        "forgotten",
        sa.Column("sitting", sa.Text, sa.ForeignKey("sittings.id", ondelete="CASCADE"), nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("chosen", sa.Integer, nullable=False),
        sa.Column("count", sa.Integer, nullable=False),
        sa.UniqueConstraint("sitting", "key", "chosen"),
    )


def _unique_where(name: str, table: str, columns: list[str], where: str) -> None:
    condition = sa.text(where)
    op.create_index(name, table, columns, unique=True, sqlite_where=condition, postgresql_where=condition)
