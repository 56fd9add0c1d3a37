"""Harvest plans, each kept as it was made; a new plan of a season names the one it takes the place of, and why."""

import sqlalchemy as sa
from alembic import op

from canewright.store.dialect import UtcDateTime, append_only, no_longer_append_only

revision = "0007"
down_revision: str | None = "0006"
branch_labels: str | None = None
depends_on: str | None = None

TABLE = "harvest_plan"
UNIQUE = (
    "old.id = NEW.id",
    "old.supersedes = NEW.supersedes",
    "old.season = NEW.season AND old.supersedes IS NULL AND NEW.supersedes IS NULL",
)


def upgrade() -> None:
    """Make the table, its unique keys and the triggers that keep every row."""
    op.create_table(
        TABLE,
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("season", sa.Text, nullable=False),
        sa.Column("made_for", sa.Date, nullable=False),
        sa.Column("body", sa.JSON, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("supersedes", sa.Integer, sa.ForeignKey("harvest_plan.id"), unique=True),
        sa.Column("reason", sa.Text),
        sa.CheckConstraint("(supersedes IS NULL) = (reason IS NULL)", name="replan_has_reason"),
    )
    first = sa.text("supersedes IS NULL")
    op.create_index("harvest_plan_first", TABLE, ["season"], unique=True, sqlite_where=first, postgresql_where=first)
    for statement in append_only(op.get_context().dialect.name, TABLE, UNIQUE):
        op.execute(statement)


def downgrade() -> None:
    """Remove the table; refused while it holds anything. Raises RuntimeError then."""
    if not op.get_context().as_sql:
        count = op.get_bind().execute(sa.select(sa.func.count()).select_from(sa.table(TABLE))).scalar_one()
        if count:
            raise RuntimeError(f"table {TABLE} holds {count} rows, which this step would destroy")
    for statement in no_longer_append_only(op.get_context().dialect.name, TABLE):
        op.execute(statement)
    op.drop_table(TABLE)
