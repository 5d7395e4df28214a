"""What Alembic runs: the changes, inside the transaction that the caller has begun."""

from alembic import context

from benchapp.records.tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,
)
context.run_migrations()
