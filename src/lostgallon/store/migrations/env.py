"""Run by Alembic: the steps run in the transaction of the connection that opening.py hands over."""

from alembic import context

context.configure(connection=context.config.attributes["connection"])
with context.begin_transaction():
    context.run_migrations()
