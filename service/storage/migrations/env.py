"""In which transaction do the migration steps run?

The connection comes from ``service.storage.migrate``, which has the lock on the database.
"""

from alembic import context

context.configure(connection=context.config.attributes["connection"], transactional_ddl=True)
with context.begin_transaction():
    context.run_migrations()
