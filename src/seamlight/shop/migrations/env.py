"""Alembic's way in: the connection is handed over, begun and committed by `seamlight.shop.schema`."""

from alembic import context

from seamlight.shop.schema import VERSION_TABLE
from seamlight.shop.tables import Row

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Row.metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,
    transactional_ddl=True,
)
context.run_migrations()
