"""What may each API key do, and on which day was it last used?

Keys from before could do everything, and still can. On the way back a key that may do less is
revoked: the release before would let it do everything.
"""

import time
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_LIMITED = """
UPDATE credential SET revoked = :now WHERE scopes != 'system/*.cruds' AND revoked IS NULL"""
_UP = """
INSERT INTO credential (id, org, name, prefix, hash, created, expires, revoked, scopes)
SELECT id, org, name, prefix, hash, created, expires, revoked, 'system/*.cruds'
FROM credential_before"""
_DOWN = """
INSERT INTO credential (id, org, name, prefix, hash, created, expires, revoked)
SELECT id, org, name, prefix, hash, created, expires, revoked FROM credential_before"""


def upgrade() -> None:
    scopes = sa.Column("scopes", sa.Text(), nullable=False)
    last_used = sa.Column("last_used", sa.BigInteger(), nullable=True)
    _rebuild(_UP, scopes, last_used)


def downgrade() -> None:
    op.get_bind().execute(sa.text(_LIMITED), {"now": time.time_ns() // 1000})
    _rebuild(_DOWN)


def _rebuild(copy: str, *more: "sa.Column[Any]") -> None:
    """A table that is made anew reads the same as one of a new database."""
    op.drop_index("credential_prefix", "credential")
    op.rename_table("credential", "credential_before")
    op.create_table(
        "credential",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("org", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("prefix", sa.Text(), nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.Column("created", sa.BigInteger(), nullable=False),
        sa.Column("expires", sa.BigInteger(), nullable=True),
        sa.Column("revoked", sa.BigInteger(), nullable=True),
        *more,
        sa.PrimaryKeyConstraint("id"),
    )
    op.execute(copy)
    op.drop_table("credential_before")
    op.create_index("credential_prefix", "credential", ["prefix"], unique=True)
