"""Which tables did the first release have?"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_KINDS = {"text": sa.Text, "big": sa.BigInteger, "int": sa.Integer, "bytes": sa.LargeBinary}

# table: key columns | other columns, each name:kind, a question mark where it may be empty
_TABLES = {
    "audit": "org:text chain:int seq:big | at:big body:bytes digest:bytes",
    "audit_seal": "org:text n:big | at:big body:bytes digest:bytes",
    "credential": "id:text | org:text name:text prefix:text hash:bytes created:big expires:big? "
    "revoked:big?",
    "idempotency": "org:text credential:text operation:text key:text | digest:text screen:text "
    "at:big",
    "organisation": "org:text | name:text time_zone:text settings:bytes patient_key:bytes "
    "created:big",
    "outbox": "id:text | org:text patient:text rev:big target:text ref:text next_try:big "
    "tries:int done:big?",
    "patient": "org:text id:text | rev:big current_plan:text? current_screen:text? "
    "current_observed:big? merged_into:text? schema_no:int body:bytes",
    "patient_id": "org:text system:text value:text | patient:text",
    "plan": "id:text | org:text patient:text screen:text screen_version:int valid_from:big "
    "valid_until:big rule_book:text schema_no:int body:bytes",
    "plan_event": "plan:text version:int | org:text patient:text rev:big at:big kind:text "
    "actor:text body:bytes",
    "screen": "id:text version:int | org:text patient:text observed:big recorded:big status:text "
    "source_id:text? features:bytes rule_book:text schema_no:int body:bytes",
}

_BY_ROW_NUMBER = {"credential", "outbox", "plan", "screen"}

# index: table, columns, the rows it holds (empty: all)
_INDEXES = {
    "idempotency_at": ("idempotency", "at", ""),
    "outbox_waiting": ("outbox", "target next_try id", "done IS NULL"),
    "patient_merged": ("patient", "org merged_into", "merged_into IS NOT NULL"),
    "plan_of_patient": ("plan", "org patient valid_from id", ""),
    "screen_of_patient": ("screen", "org patient observed id", ""),
    "screen_recorded": ("screen", "org recorded id", ""),
}
_UNIQUE_INDEXES = {
    "credential_prefix": ("credential", "prefix", ""),
    "plan_of_screen": ("plan", "screen screen_version", ""),
    "plan_event_once": (
        "plan_event",
        "plan kind",
        "kind IN ('created', 'lapsed', 'withdrawn')",
    ),
    "screen_source": (
        "screen",
        "org source_id",
        "version = 1 AND source_id IS NOT NULL",
    ),
}


def _column(word: str) -> "sa.Column[object]":
    name, kind = word.rstrip("?").split(":")
    return sa.Column(name, _KINDS[kind](), nullable=word.endswith("?"))


def upgrade() -> None:
    for name, words in _TABLES.items():
        keys, others = (part.split() for part in words.split("|"))
        op.create_table(
            name,
            *map(_column, keys + others),
            sa.PrimaryKeyConstraint(*(word.split(":")[0] for word in keys)),
            sqlite_with_rowid=name in _BY_ROW_NUMBER,
        )
    for indexes, unique in ((_INDEXES, False), (_UNIQUE_INDEXES, True)):
        for name, (table, columns, held) in indexes.items():
            where = sa.text(held) if held else None
            op.create_index(name, table, columns.split(), unique=unique, sqlite_where=where)


def downgrade() -> None:
    for name in reversed(_TABLES):
        op.drop_table(name)
