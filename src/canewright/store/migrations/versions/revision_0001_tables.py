"""The tables of a business, append-only."""

import sqlalchemy as sa
from alembic import op

from canewright.store.dialect import UtcDateTime, append_only, no_longer_append_only

revision = "0001"
down_revision: str | None = None
branch_labels: str | None = None
depends_on: str | None = None

ORIGINAL = "old.supersedes IS NULL AND NEW.supersedes IS NULL"
SAME_READING = " AND ".join(
    f"old.{column} = NEW.{column}" for column in ("day", "place", "quantity", "duplicate", "taken_at")
)
UNIQUE = {
    "batch": ("old.id = NEW.id",),
    "batch_file": ("old.id = NEW.id", "old.day = NEW.day AND old.sha256 = NEW.sha256"),
    "reading": (
        "old.id = NEW.id",
        "old.supersedes = NEW.supersedes",
        "old.entry_key = NEW.entry_key",
        f"{SAME_READING} AND {ORIGINAL}",
    ),
    "consignment": (
        "old.id = NEW.id",
        "old.supersedes = NEW.supersedes",
        f"old.day = NEW.day AND old.ticket = NEW.ticket AND {ORIGINAL}",
    ),
    "plant_version": ("old.sha256 = NEW.sha256",),
    "closed_day": ("old.id = NEW.id", "old.day = NEW.day AND old.version = NEW.version AND old.status = NEW.status"),
}


def upgrade() -> None:
    """Make the tables, their unique keys and the triggers that keep every row."""
    _imports()
    _readings()
    _consignments()
    _closed_days()
    dialect = op.get_context().dialect.name
    for table, unique in UNIQUE.items():
        for statement in append_only(dialect, table, unique):
            op.execute(statement)


def _imports() -> None:
    op.create_table(
        "batch",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("row_count", sa.Integer, nullable=False),
    )
    op.create_table(
        "batch_file",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("batch_id", sa.Integer, sa.ForeignKey("batch.id"), nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.Column("row_count", sa.Integer, nullable=False),
        sa.UniqueConstraint("day", "sha256", name="one_import_of_a_file_a_day"),
    )


def _readings() -> None:
    op.create_table(
        "reading",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("place", sa.Text, nullable=False),
        sa.Column("quantity", sa.Text, nullable=False),
        sa.Column("duplicate", sa.Integer, nullable=False),
        sa.Column("value", sa.Float),
        sa.Column("unit", sa.Text, nullable=False),
        sa.Column("quality", sa.Text, nullable=False),
        sa.Column("taken_at", UtcDateTime, nullable=False),
        sa.Column("taken_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("batch_id", sa.Integer, sa.ForeignKey("batch.id")),
        sa.Column("supersedes", sa.Integer, sa.ForeignKey("reading.id"), unique=True),
        sa.Column("reason", sa.Text),
        sa.Column("entry_key", sa.Text, unique=True),
        sa.CheckConstraint("quality IN ('good', 'bad', 'missing', 'estimated')", name="known_quality"),
        sa.CheckConstraint("value IS NOT NULL OR quality IN ('missing', 'bad')", name="value_or_missing"),
        sa.CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="correction_has_reason"),
    )
    _once("reading_once", "reading", ["day", "place", "quantity", "duplicate", "taken_at"])


def _consignments() -> None:
    op.create_table(
        "consignment",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("ticket", sa.Text, nullable=False),
        sa.Column("grower", sa.Text, nullable=False),
        sa.Column("block", sa.Text, nullable=False),
        sa.Column("fibre_class", sa.Text, nullable=False),
        sa.Column("tip_at", UtcDateTime, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("batch_id", sa.Integer, sa.ForeignKey("batch.id")),
        sa.Column("supersedes", sa.Integer, sa.ForeignKey("consignment.id"), unique=True),
        sa.Column("reason", sa.Text),
        sa.CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="correction_has_reason"),
    )
    _once("consignment_once", "consignment", ["day", "ticket"])


def _once(name: str, table: str, columns: list[str]) -> None:
    first = sa.text("supersedes IS NULL")
    op.create_index(name, table, columns, unique=True, sqlite_where=first, postgresql_where=first)


def _closed_days() -> None:
    op.create_table(
        "plant_version",
        sa.Column("sha256", sa.Text, primary_key=True),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("first_used", UtcDateTime, nullable=False),
    )
    op.create_table(
        "closed_day",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("status", sa.Text, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("reason", sa.Text),
        sa.Column("plant_sha256", sa.Text, sa.ForeignKey("plant_version.sha256")),
        sa.Column("figures", sa.JSON),
        sa.Column("state", sa.JSON),
        sa.Column("readings_used", sa.JSON),
        sa.UniqueConstraint("day", "version", "status", name="one_closing_a_version"),
        sa.CheckConstraint("status IN ('closed', 'reopened')", name="known_status"),
        sa.CheckConstraint("status = 'closed' OR reason IS NOT NULL", name="reopening_has_reason"),
        sa.CheckConstraint(
            "status = 'reopened' OR (plant_sha256 IS NOT NULL AND figures IS NOT NULL "
            "AND state IS NOT NULL AND readings_used IS NOT NULL)",
            name="closing_is_whole",
        ),
    )


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
    for table in ("closed_day", "plant_version", "consignment", "reading", "batch_file", "batch"):
        op.drop_table(table)
