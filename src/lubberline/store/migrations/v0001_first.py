"""The first tables: classes, students, sittings, answers with their history, aircraft logs, settings."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "groups",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("title", sa.Text, nullable=False),
    )
    op.create_table(
        "students",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("group_id", sa.Text, sa.ForeignKey("groups.id", ondelete="CASCADE"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("number", sa.Text, nullable=False),
    )
    op.create_index("students_of_group", "students", ["group_id"])
    op.create_table(
        "sittings",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("group_id", sa.Text, sa.ForeignKey("groups.id", ondelete="CASCADE"), nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("opened_utc", sa.Text, nullable=False),
        sa.Column("closed_utc", sa.Text, nullable=False),
        sa.Column("asked", sa.Text, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("code", sa.Text, nullable=False),
        sa.Column("step", sa.Integer, nullable=False),
        sa.Column("phase", sa.Text, nullable=False),
        sa.Column("minutes", sa.Float, nullable=False),
        sa.Column("on_paper", sa.Boolean, nullable=False),
    )
    op.create_index("sittings_by_code", "sittings", ["code"])
    op.create_table(
        "places",
        *_of_sitting(),
        sa.Column("form", sa.Text, nullable=False),
        sa.Column("began_utc", sa.Text, nullable=False),
        sa.Column("ended_utc", sa.Text, nullable=False),
        sa.Column("secret_hash", sa.Text, nullable=False),
        sa.UniqueConstraint("sitting", "student"),
    )
    op.create_index("places_by_secret", "places", ["sitting", "secret_hash"])
    op.create_table(
        "answers",
        *_of_sitting(),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("chosen", sa.Integer, nullable=False),
        sa.Column("value", sa.Float),
        sa.Column("answered_utc", sa.Text, nullable=False),
        sa.Column("sent", sa.Text, nullable=False),
        sa.Column("seconds", sa.Float, nullable=False),
        sa.UniqueConstraint("sitting", "student", "key"),
    )
    op.create_index("answers_of_student", "answers", ["student"])
    op.create_table(
        "sendings",
        sa.Column("at", sa.Integer, primary_key=True, autoincrement=True),
        *_of_sitting(),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("chosen", sa.Integer, nullable=False),
        sa.Column("value", sa.Float),
        sa.Column("answered_utc", sa.Text, nullable=False),
        sa.Column("sent", sa.Text, nullable=False),
        sa.UniqueConstraint("sitting", "student", "sent"),
    )
    op.create_table(
        "corrections",
        sa.Column("at", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("sitting", sa.Text, sa.ForeignKey("sittings.id", ondelete="CASCADE"), nullable=False),
        *(
            sa.Column(name, sa.Text, nullable=False)
            for name in ("student", "key", "by", "at_utc", "why", "field", "before", "after")
        ),
    )
    op.create_index("corrections_of_sitting", "corrections", ["sitting"])
    op.create_table(
        "log_entries",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("number", sa.Integer, nullable=False),
        *(
            sa.Column(name, sa.Text, nullable=False)
            for name in ("aircraft", "added_utc", "typed", "understood")
        ),
    )
    op.create_index("log_of_aircraft", "log_entries", ["aircraft"])
    op.create_table(
        "log_changes",
        sa.Column("at", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("entry", sa.Text, sa.ForeignKey("log_entries.id", ondelete="CASCADE"), nullable=False),
        *(
            sa.Column(name, sa.Text, nullable=False)
            for name in ("by", "at_utc", "why", "typed_before", "understood_before")
        ),
    )
    op.create_table(
        "settings",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("value", sa.Text, nullable=False),
    )


def _of_sitting() -> tuple[sa.Column[str], sa.Column[str]]:
    return (
        sa.Column("sitting", sa.Text, sa.ForeignKey("sittings.id", ondelete="CASCADE"), nullable=False),
        sa.Column("student", sa.Text, sa.ForeignKey("students.id", ondelete="CASCADE"), nullable=False),
    )
