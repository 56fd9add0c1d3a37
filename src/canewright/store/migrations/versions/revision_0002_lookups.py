"""Quick ways to the readings of a place over a season and to a ticket."""

from alembic import op

revision = "0002"
down_revision: str | None = "0001"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    """Make the indexes."""
    op.create_index("reading_of_place", "reading", ["place", "quantity", "taken_at"])
    op.create_index("consignment_by_ticket", "consignment", ["ticket"])


def downgrade() -> None:
    """Remove the indexes; no row is touched."""
    op.drop_index("consignment_by_ticket", "consignment")
    op.drop_index("reading_of_place", "reading")
