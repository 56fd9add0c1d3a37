"""Runs the steps on a connection that is handed in, or prints them as SQL for a named database."""

from alembic import context

settings = context.config.attributes
if context.is_offline_mode():
    context.configure(dialect_name=settings["dialect"], literal_binds=True)
else:
    context.configure(connection=settings["connection"], transactional_ddl=True)
with context.begin_transaction():
    context.run_migrations()
