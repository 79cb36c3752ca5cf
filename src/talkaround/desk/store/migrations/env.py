"""Run by the migrations with the connection that the store hands over."""

from alembic import context

from talkaround.desk.store.tables import Base

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=Base.metadata, render_as_batch=True, transactional_ddl=False)
with context.begin_transaction():
    context.run_migrations()
