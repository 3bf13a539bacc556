"""Alembic's entry: runs the migrations on the connection it is handed."""

import sqlmodel
from alembic import context

from fallowside.store import models

__all__ = ["models"]

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=sqlmodel.SQLModel.metadata,
    render_as_batch=True,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
