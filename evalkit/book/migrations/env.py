"""Runs the numbered steps on the connection that the book hands over."""

from __future__ import annotations

from alembic import context

from evalkit.book.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    render_as_batch=True,  # SQLite alters a table by making it anew
    transactional_ddl=True,  # which SQLite can, though Alembic takes it to be unable
    transaction_per_migration=True,
)
with context.begin_transaction():
    context.run_migrations()
