"""Late answers, the steps of lessons over time, and an id of the records for sendings from devices."""

import secrets

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def _of(column: str, table: str) -> sa.Column[str]:
    key = sa.ForeignKey(f"{table}.id", ondelete="CASCADE")
    return sa.Column(column, sa.Text, key, nullable=False)


def upgrade() -> None:
    """Old records have no late answers, and get their id here."""
    op.create_table(
        "late_answers",
        sa.Column("at", sa.Integer, primary_key=True, autoincrement=True),
        _of("sitting", "sittings"),
        _of("student", "students"),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("chosen", sa.Integer, nullable=False),
        sa.Column("value", sa.Float),
        sa.Column("sent", sa.Text, nullable=False),
        sa.Column("seconds", sa.Float, nullable=False),
        sa.Column("given_utc", sa.Text, nullable=False),
        sa.Column("heard_utc", sa.Text, nullable=False),
        sa.Column("apart_s", sa.Float, nullable=False),
        sa.Column("came_utc", sa.Text, nullable=False),
        sa.Column("state", sa.Text, nullable=False),
        sa.Column("decided_utc", sa.Text, nullable=False),
        sa.UniqueConstraint("sitting", "student", "sent"),
    )
    op.create_index("late_answers_of_student", "late_answers", ["student"])
    op.create_table(
        "moves",
        sa.Column("at", sa.Integer, primary_key=True, autoincrement=True),
        _of("sitting", "sittings"),
        sa.Column("at_utc", sa.Text, nullable=False),
        sa.Column("step", sa.Integer, nullable=False),
        sa.Column("phase", sa.Text, nullable=False),
    )
    op.create_index("moves_of_sitting", "moves", ["sitting"])
    settings = sa.table("settings", sa.column("name", sa.Text), sa.column("value", sa.Text))
    # A new id, so that devices cannot confuse these records with others.
    op.execute(settings.insert().values(name="records-id", value=secrets.token_hex(8)))
