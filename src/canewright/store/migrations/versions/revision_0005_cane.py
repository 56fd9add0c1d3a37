"""The registers of the cane supply, what a consignment note tells, rulings on samples, and growers' access."""

import sqlalchemy as sa
from alembic import op

from canewright.store.dialect import UtcDateTime, append_only, no_longer_append_only

revision = "0005"
down_revision: str | None = "0004"
branch_labels: str | None = None
depends_on: str | None = None

ORIGINAL = "old.supersedes IS NULL AND NEW.supersedes IS NULL"
UNIQUE = {
    "register_entry": (
        "old.id = NEW.id",
        "old.supersedes = NEW.supersedes",
        f"old.register = NEW.register AND old.key = NEW.key AND old.valid_from = NEW.valid_from AND {ORIGINAL}",
    ),
    "consignment_note": (
        "old.id = NEW.id",
        "old.supersedes = NEW.supersedes",
        f"old.day = NEW.day AND old.ticket = NEW.ticket AND {ORIGINAL}",
    ),
    "sample_ruling": ("old.id = NEW.id",),
    "grower_access": ("old.id = NEW.id", "old.supersedes = NEW.supersedes", "old.key_hash = NEW.key_hash"),
}


def upgrade() -> None:
    """Make the tables, their unique keys and the triggers that keep every row."""
    _registers()
    _notes()
    _rulings()
    _access()
    dialect = op.get_context().dialect.name
    for table, unique in UNIQUE.items():
        for statement in append_only(dialect, table, unique):
            op.execute(statement)


def _registers() -> None:
    op.create_table(
        "register_entry",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("register", sa.Text, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("valid_from", sa.Date, nullable=False),
        sa.Column("details", sa.JSON),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("supersedes", sa.Integer, sa.ForeignKey("register_entry.id"), unique=True),
        sa.Column("reason", sa.Text),
        sa.CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="correction_has_reason"),
    )
    _once("register_entry_once", "register_entry", ["register", "key", "valid_from"])


def _notes() -> None:
    op.create_table(
        "consignment_note",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("ticket", sa.Text, nullable=False),
        sa.Column("harvest_group", sa.Text, nullable=False),
        sa.Column("carrier", sa.Text, nullable=False),
        sa.Column("cut_at", UtcDateTime),
        sa.Column("arrived_at", UtcDateTime),
        sa.Column("sampled_from", UtcDateTime),
        sa.Column("sampled_to", UtcDateTime),
        sa.Column("bins", sa.JSON),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("batch_id", sa.Integer, sa.ForeignKey("batch.id")),
        sa.Column("supersedes", sa.Integer, sa.ForeignKey("consignment_note.id"), unique=True),
        sa.Column("reason", sa.Text),
        sa.CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="correction_has_reason"),
    )
    _once("consignment_note_once", "consignment_note", ["day", "ticket"])


def _rulings() -> None:
    op.create_table(
        "sample_ruling",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("ticket", sa.Text, nullable=False),
        sa.Column("ruling", sa.Text, nullable=False),
        sa.Column("says", sa.Text, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.CheckConstraint("ruling IN ('confirmed', 'rejected', 'disputed', 'settled')", name="known_ruling"),
    )
    op.create_index("sample_ruling_of_ticket", "sample_ruling", ["day", "ticket"])


def _access() -> None:
    op.create_table(
        "grower_access",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("grower", sa.Text, nullable=False),
        sa.Column("given_to", sa.Text, nullable=False),
        sa.Column("key_hash", sa.Text, unique=True),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("supersedes", sa.Integer, sa.ForeignKey("grower_access.id"), unique=True),
        sa.Column("reason", sa.Text),
        sa.CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="withdrawal_has_reason"),
        sa.CheckConstraint("(supersedes IS NULL) = (key_hash IS NOT NULL)", name="key_until_withdrawn"),
    )


def _once(name: str, table: str, columns: list[str]) -> None:
    first = sa.text("supersedes IS NULL")
    op.create_index(name, table, columns, unique=True, sqlite_where=first, postgresql_where=first)


def downgrade() -> None:
    """Remove the tables; refused while they hold anything. Raises RuntimeError then."""
    dialect = op.get_context().dialect.name
    tables = list(reversed(UNIQUE))
    if not op.get_context().as_sql:
        for table in tables:
            count = op.get_bind().execute(sa.select(sa.func.count()).select_from(sa.table(table))).scalar_one()
            if count:
                raise RuntimeError(f"table {table} holds {count} rows, which this step would destroy")
    for table in tables:
        for statement in no_longer_append_only(dialect, table):
            op.execute(statement)
        op.drop_table(table)
