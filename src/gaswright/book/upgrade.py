"""From an older schema to this program's, in one transaction; which schema a book has."""

from pathlib import Path

from sqlalchemy import Connection, inspect, text

from gaswright.book.schema import REVISIONS

__all__ = ["is_newer", "is_older", "migrate", "revision_of"]


def revision_of(connection: Connection) -> str | None:
    """The schema of a book, None if the store holds no book.

    Args:
        connection: to the store.
    """
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def is_newer(revision: str) -> bool:
    """True if this program does not know the schema: a newer one made it.

    Args:
        revision: of the book.
    """
    return revision not in REVISIONS


def is_older(revision: str) -> bool:
    """True if the book must be brought to this program's schema before it is written.

    Args:
        revision: of the book.
    """
    return revision in REVISIONS[:-1]


def migrate(connection: Connection, to: str = REVISIONS[-1]) -> None:
    """Nothing; the store has the schema afterwards, once the transaction is committed.

    Args:
        connection: inside a writing transaction.
        to: revision.
    """
    from alembic.command import upgrade  # noqa: PLC0415  half a second, wanted only when a schema is made
    from alembic.config import Config  # noqa: PLC0415  the same

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    upgrade(config, to)
