"""When does the time of each patient's current plan run out? Null once that is written down."""

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

_COLUMNS = (
    "org, id, rev, current_plan, current_screen, current_observed, merged_into, schema_no, body"
)
_UP = f"""
INSERT INTO patient (current_until, {_COLUMNS})
SELECT (
    SELECT plan.valid_until FROM plan WHERE plan.id = current_plan AND NOT EXISTS (
        SELECT 1 FROM plan_event WHERE plan_event.plan = plan.id AND kind = 'lapsed'
    )
), {_COLUMNS} FROM patient_before"""  # noqa: S608 - the names are ours
_DOWN = f"INSERT INTO patient ({_COLUMNS}) SELECT {_COLUMNS} FROM patient_before"  # noqa: S608


def upgrade() -> None:
    _rebuild(_UP, sa.Column("current_until", sa.BigInteger(), nullable=True))
    where = sa.text("current_until IS NOT NULL")
    op.create_index("patient_due", "patient", ["current_until"], sqlite_where=where)


def downgrade() -> None:
    op.drop_index("patient_due", "patient")
    _rebuild(_DOWN)


def _rebuild(copy: str, *more: "sa.Column[Any]") -> None:
    """A table that is made anew reads the same as one of a new database."""
    op.drop_index("patient_merged", "patient")
    op.rename_table("patient", "patient_before")
    op.create_table(
        "patient",
        sa.Column("org", sa.Text(), nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("rev", sa.BigInteger(), nullable=False),
        sa.Column("current_plan", sa.Text(), nullable=True),
        sa.Column("current_screen", sa.Text(), nullable=True),
        sa.Column("current_observed", sa.BigInteger(), nullable=True),
        *more,
        sa.Column("merged_into", sa.Text(), nullable=True),
        sa.Column("schema_no", sa.Integer(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("org", "id"),
        sqlite_with_rowid=False,
    )
    op.execute(copy)
    op.drop_table("patient_before")
    where = sa.text("merged_into IS NOT NULL")
    op.create_index("patient_merged", "patient", ["org", "merged_into"], sqlite_where=where)
