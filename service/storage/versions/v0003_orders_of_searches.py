"""By which times is a whole organisation searched? An index for each order that a list has."""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_INDEXES = {
    "screen_observed": ("screen", ["org", "observed", "id"]),
    "plan_observed": ("plan", ["org", "valid_from", "id"]),
    "plan_event_at": ("plan_event", ["org", "at", "plan"]),
}


def upgrade() -> None:
    for name, (table, columns) in _INDEXES.items():
        op.create_index(name, table, columns)


def downgrade() -> None:
    for name, (table, _) in reversed(_INDEXES.items()):
        op.drop_index(name, table)
