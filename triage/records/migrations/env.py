"""Run by Alembic: migrates over the connection that triage.records.schema hands in."""

from alembic import context

from triage.records.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    transactional_ddl=True,  # SQLite can, once its transactions are begun by hand (see store.py)
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
