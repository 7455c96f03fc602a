"""Runs migration steps on the connection that the store hands over, inside the store's transaction."""

from __future__ import annotations

from alembic import context

from coatwright.salon.schema import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, transactional_ddl=False)
context.run_migrations()
