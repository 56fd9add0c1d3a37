"""Seasons smoothed together, the corrections of closed days that they propose, and what people decided on them."""

import sqlalchemy as sa
from alembic import op

from canewright.store.dialect import UtcDateTime, append_only, no_longer_append_only

revision = "0003"
down_revision: str | None = "0002"
branch_labels: str | None = None
depends_on: str | None = None

UNIQUE = {
    "season": ("old.id = NEW.id",),
    "proposal": ("old.id = NEW.id", "old.season_id = NEW.season_id AND old.day = NEW.day"),
    "decision": ("old.id = NEW.id", "old.proposal_id = NEW.proposal_id AND old.act = NEW.act"),
}


def upgrade() -> None:
    """Make the tables, their unique keys and the triggers that keep every row."""
    op.create_table(
        "season",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("first", sa.Date, nullable=False),
        sa.Column("last", sa.Date, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("plant_sha256", sa.Text, sa.ForeignKey("plant_version.sha256"), nullable=False),
        sa.Column("course", sa.JSON, nullable=False),
    )
    op.create_table(
        "proposal",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("season_id", sa.Integer, sa.ForeignKey("season.id"), nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("figures", sa.JSON, nullable=False),
        sa.Column("knowledge", sa.JSON, nullable=False),
        sa.UniqueConstraint("season_id", "day", name="one_proposal_a_day_and_season"),
    )
    op.create_index("proposal_of_day", "proposal", ["day"])
    op.create_table(
        "decision",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("proposal_id", sa.Integer, sa.ForeignKey("proposal.id"), nullable=False),
        sa.Column("act", sa.Text, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.UniqueConstraint("proposal_id", "act", name="each_act_once"),
        sa.CheckConstraint("act IN ('accepted', 'declined', 'withdrawn')", name="known_act"),
    )
    dialect = op.get_context().dialect.name
    for table, unique in UNIQUE.items():
        for statement in append_only(dialect, table, unique):
            op.execute(statement)


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
    op.drop_index("proposal_of_day", "proposal")
    for table in tables:
        op.drop_table(table)
