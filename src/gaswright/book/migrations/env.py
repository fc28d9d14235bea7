"""What Alembic runs: the migrations on the connection and inside the transaction that it is given."""

from alembic import context

connection = context.config.attributes["connection"]
context.configure(connection=connection, transactional_ddl=True)
context.run_migrations()
