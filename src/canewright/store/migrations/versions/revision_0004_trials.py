"""Kept trials of what-if questions and the notes on them, append-only."""

import sqlalchemy as sa
from alembic import op

from canewright.store.dialect import UtcDateTime, append_only, no_longer_append_only

revision = "0004"
down_revision: str | None = "0003"
branch_labels: str | None = None
depends_on: str | None = None

UNIQUE = {"trial": ("old.id = NEW.id",), "trial_note": ("old.id = NEW.id",)}


def upgrade() -> None:
    """Make the tables and the triggers that keep every row."""
    op.create_table(
        "trial",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("changes", sa.JSON, nullable=False),
        sa.Column("result", sa.JSON, nullable=False),
        sa.Column("plant_sha256", sa.Text, nullable=False),
    )
    op.create_index("trial_of_day", "trial", ["day"])
    op.create_table(
        "trial_note",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("trial_id", sa.Integer, sa.ForeignKey("trial.id"), nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
    )
    dialect = op.get_context().dialect.name
    for table, unique in UNIQUE.items():
        for statement in append_only(dialect, table, unique):
            op.execute(statement)


def downgrade() -> None:
    """Remove the tables; refused while they hold anything. Raises RuntimeError then."""
    dialect = op.get_context().dialect.name
    if not op.get_context().as_sql:
        for table in UNIQUE:
            count = op.get_bind().execute(sa.select(sa.func.count()).select_from(sa.table(table))).scalar_one()
            if count:
                raise RuntimeError(f"table {table} holds {count} rows, which this step would destroy")
    for table in reversed(UNIQUE):
        for statement in no_longer_append_only(dialect, table):
            op.execute(statement)
    op.drop_table("trial_note")
    op.drop_index("trial_of_day", "trial")
    op.drop_table("trial")
