"""Alembic's environment: runs on the connection that `store.migrating` hands over."""

from __future__ import annotations

from alembic import context

from lubberline.store.tables import METADATA

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=METADATA, render_as_batch=True)
context.run_migrations()
