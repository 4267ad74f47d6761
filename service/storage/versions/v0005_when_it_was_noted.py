"""By which time is the audit trail of an organisation read? An index for its order."""

from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index("audit_at", "audit", ["org", "at", "chain", "seq"])


def downgrade() -> None:
    op.drop_index("audit_at", "audit")
