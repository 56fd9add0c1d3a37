"""Brings a database to the tables this version expects, step by step, in one transaction."""

from __future__ import annotations

import io
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy import Connection, Engine

from canewright.store.dialect import writer
from canewright.store.errors import NotABusiness

if TYPE_CHECKING:
    from alembic.config import Config

HEAD = "0007"
"""The newest step; a test holds it to the migrations folder."""
REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007")
_VERSION = sa.table("alembic_version", sa.column("version_num"))


def revision(connection: Connection) -> str | None:
    """The step a database stands at; None for one without any of our tables."""
    if not sa.inspect(connection).has_table("alembic_version"):
        return None
    found: str | None = connection.execute(sa.select(_VERSION.c.version_num)).scalar()
    return found


def bring_up_to_date(engine: Engine) -> None:
    """Apply the missing steps. Raises NotABusiness for a database that is not ours or is newer than this version."""
    with engine.connect() as connection:
        if revision(connection) == HEAD:
            return
    with writer(engine).begin() as connection:
        found = revision(connection)  # another program may have been quicker
        if found == HEAD:
            return
        _refuse_strangers(connection, found)
        move(connection, HEAD)


def _refuse_strangers(connection: Connection, found: str | None) -> None:
    if found is not None and found not in REVISIONS:
        raise NotABusiness(
            f"These records stand at step {found}, which this version does not know (it knows up to {HEAD}). "
            "They were written by a newer version; install that one."
        )
    if found is None and sa.inspect(connection).get_table_names():
        raise NotABusiness("This database holds tables of something else; choose another folder for the business.")


def move(connection: Connection, to: str) -> None:
    """Move the database behind an open transaction to a step, forwards or backwards.

    Raises RuntimeError when a step backwards would destroy rows.
    """
    from alembic import command

    config = _config()
    config.attributes["connection"] = connection
    found = revision(connection)
    backwards = found is not None and (to == "base" or to < found)
    (command.downgrade if backwards else command.upgrade)(config, to)


def as_sql(dialect: str) -> str:
    """The steps from nothing to the newest as SQL text for a named database, for its administrator to read."""
    from alembic import command

    printed = io.StringIO()
    config = _config()
    config.output_buffer = printed
    config.attributes["dialect"] = dialect
    command.upgrade(config, HEAD, sql=True)
    return printed.getvalue()


def _config() -> Config:
    from alembic.config import Config

    config = Config()
    folder = str(Path(__file__).parent / "migrations")
    config.set_main_option("script_location", folder.replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
