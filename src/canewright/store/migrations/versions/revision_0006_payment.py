"""Payment of growers: persons and their rights, agreements, pay runs and what was done to them, corrections by hand."""

from typing import Any

import sqlalchemy as sa
from alembic import op

from canewright.store.dialect import UtcDateTime, append_only, no_longer_append_only

revision = "0006"
down_revision: str | None = "0005"
branch_labels: str | None = None
depends_on: str | None = None

UNIQUE = {
    "pay_person": ("old.id = NEW.id",),
    "pay_agreement": ("old.id = NEW.id", "old.season = NEW.season AND old.version = NEW.version"),
    "pay_run": ("old.id = NEW.id", "old.season = NEW.season AND old.number = NEW.number AND old.version = NEW.version"),
    "pay_act": (
        "old.id = NEW.id",
        "old.run_id = NEW.run_id AND old.act = NEW.act AND old.entered_by = NEW.entered_by",
        "old.run_id = NEW.run_id AND old.act = 'closed' AND NEW.act = 'closed'",
    ),
    "pay_correction": ("old.id = NEW.id",),
}


def upgrade() -> None:
    """Make the tables and the triggers that keep every row."""
    _persons()
    _agreements()
    _runs()
    _corrections()
    dialect = op.get_context().dialect.name
    for table, unique in UNIQUE.items():
        for statement in append_only(dialect, table, unique):
            op.execute(statement)


def _entered() -> list[sa.Column[Any]]:
    return [
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("entered_at", UtcDateTime, nullable=False),
    ]


def _persons() -> None:
    op.create_table(
        "pay_person",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("rights", sa.JSON, nullable=False),
        sa.Column("grower", sa.Text),
        sa.Column("secret", sa.Text, nullable=False),
        *_entered(),
        sa.Column("reason", sa.Text, nullable=False),
    )
    op.create_index("pay_person_by_name", "pay_person", ["name"])


def _agreements() -> None:
    op.create_table(
        "pay_agreement",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("season", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        *_entered(),
        sa.Column("reason", sa.Text, nullable=False),
        sa.UniqueConstraint("season", "version", name="one_agreement_a_version"),
    )


def _runs() -> None:
    op.create_table(
        "pay_run",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("season", sa.Text, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("agreement_id", sa.Integer, sa.ForeignKey("pay_agreement.id"), nullable=False),
        sa.Column("content", sa.JSON, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        *_entered(),
        sa.Column("reason", sa.Text),
        sa.UniqueConstraint("season", "number", "version", name="one_run_a_version"),
    )
    op.create_table(
        "pay_act",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("run_id", sa.Integer, sa.ForeignKey("pay_run.id"), nullable=False),
        sa.Column("act", sa.Text, nullable=False),
        *_entered(),
        sa.Column("reason", sa.Text),
        sa.UniqueConstraint("run_id", "act", "entered_by", name="one_act_a_person"),
        sa.CheckConstraint("act IN ('approved', 'rejected', 'closed')", name="known_act"),
        sa.CheckConstraint("act <> 'rejected' OR reason IS NOT NULL", name="rejection_has_reason"),
    )
    closed = sa.text("act = 'closed'")
    op.create_index(
        "pay_run_closed_once", "pay_act", ["run_id"], unique=True, sqlite_where=closed, postgresql_where=closed
    )


def _corrections() -> None:
    op.create_table(
        "pay_correction",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("season", sa.Text, nullable=False),
        sa.Column("run", sa.Integer, nullable=False),
        sa.Column("grower", sa.Text, nullable=False),
        sa.Column("period", sa.Integer, nullable=False),
        sa.Column("ticket", sa.Text, nullable=False),
        sa.Column("amount", sa.Text, nullable=False),
        *_entered(),
        sa.Column("reason", sa.Text, nullable=False),
    )
    op.create_index("pay_correction_by_run", "pay_correction", ["season", "run"])


def downgrade() -> None:
    """Remove the tables; refused while they hold anything. Raises RuntimeError then."""
    dialect = op.get_context().dialect.name
    tables = ("pay_correction", "pay_act", "pay_run", "pay_agreement", "pay_person")
    if not op.get_context().as_sql:
        for table in tables:
            count = op.get_bind().execute(sa.select(sa.func.count()).select_from(sa.table(table))).scalar_one()
            if count:
                raise RuntimeError(f"table {table} holds {count} rows, which this step would destroy")
    for table in tables:
        for statement in no_longer_append_only(dialect, table):
            op.execute(statement)
        op.drop_table(table)
