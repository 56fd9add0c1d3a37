"""${message}."""

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Forwards."""
    ${upgrades if upgrades else ""}


def downgrade() -> None:
    """Backwards."""
    ${downgrades if downgrades else ""}
