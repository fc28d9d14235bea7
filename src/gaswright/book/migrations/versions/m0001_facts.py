"""The facts, their origins, the stream rows, people and notes; the chain is guarded by triggers."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

SQLITE = (
    """
    CREATE TRIGGER facts_no_update BEFORE UPDATE ON facts
    BEGIN SELECT RAISE(ABORT, 'book: a fact is never changed'); END
    """,
    """
    CREATE TRIGGER facts_no_delete BEFORE DELETE ON facts
    BEGIN SELECT RAISE(ABORT, 'book: a fact is never deleted'); END
    """,
    """
    CREATE TRIGGER facts_predecessor BEFORE INSERT ON facts
    WHEN NEW.number != 1 + (SELECT coalesce(max(number), 0) FROM facts WHERE origin = NEW.origin)
      OR NEW.previous IS NOT coalesce(
           (SELECT hash FROM facts WHERE origin = NEW.origin AND number = NEW.number - 1),
           (SELECT first_hash FROM origins WHERE origin = NEW.origin))
    BEGIN SELECT RAISE(ABORT, 'book: a fact follows the one before it'); END
    """,
)
POSTGRESQL = (
    """
    CREATE FUNCTION book_refuses() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION 'book: a fact is never changed or deleted'; END $$
    """,
    """
    CREATE FUNCTION book_follows() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
      IF NEW.number <> 1 + (SELECT coalesce(max(number), 0) FROM facts WHERE origin = NEW.origin)
         OR NEW.previous IS DISTINCT FROM coalesce(
              (SELECT hash FROM facts WHERE origin = NEW.origin AND number = NEW.number - 1),
              (SELECT first_hash FROM origins WHERE origin = NEW.origin))
      THEN RAISE EXCEPTION 'book: a fact follows the one before it'; END IF;
      RETURN NEW;
    END $$
    """,
    "CREATE TRIGGER facts_no_update BEFORE UPDATE ON facts FOR EACH STATEMENT EXECUTE FUNCTION book_refuses()",
    """
    CREATE TRIGGER facts_no_delete BEFORE DELETE OR TRUNCATE ON facts
    FOR EACH STATEMENT EXECUTE FUNCTION book_refuses()
    """,
    "CREATE TRIGGER facts_predecessor BEFORE INSERT ON facts FOR EACH ROW EXECUTE FUNCTION book_follows()",
    "REVOKE ALL ON facts FROM PUBLIC",
    "REVOKE UPDATE, DELETE, TRUNCATE ON facts FROM CURRENT_USER",
)


def _text(name: str, *, nullable: bool = False) -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=nullable)


def _whole(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, nullable=False, autoincrement=False)


def upgrade() -> None:
    """Make the tables and their triggers."""
    op.create_table(
        "book", _whole("one"), _text("origin"), _text("place"), _text("made"), sa.PrimaryKeyConstraint("one"),
        sa.CheckConstraint("one = 1"), sqlite_strict=True,
    )
    op.create_table(
        "origins", _text("origin"), _text("first_hash"), _whole("own"), sa.PrimaryKeyConstraint("origin"),
        sa.CheckConstraint("length(origin) = 8"), sqlite_strict=True,
    )
    op.create_table(
        "facts", _text("origin"), _whole("number"), _text("previous"), _text("hash"), _text("stream"), _text("kind"),
        _text("recorded"), _text("key"), _text("text"), sa.PrimaryKeyConstraint("origin", "number"),
        sa.UniqueConstraint("key", "origin"), sa.ForeignKeyConstraint(["origin"], ["origins.origin"]),
        sa.CheckConstraint("number >= 1"), sa.CheckConstraint("length(hash) = 64"), sqlite_strict=True,
    )
    op.create_index("facts_of_stream", "facts", ["stream", "origin", "number"])
    op.create_index("facts_recorded", "facts", ["origin", "recorded"])
    op.create_table(
        "streams", _text("stream"), _text("heads"), _text("in_force"), _text("standing", nullable=True),
        _text("fold_version"), _whole("count"), _text("seal"), sa.PrimaryKeyConstraint("stream"), sqlite_strict=True,
    )
    op.create_table(
        "people", _text("person"), _text("salt"), _text("name"), _text("hash"),
        sa.PrimaryKeyConstraint("person", "salt"), sqlite_strict=True,
    )
    op.create_table(
        "notes", _text("hash"), _text("salt"), _text("text"), sa.PrimaryKeyConstraint("hash"), sqlite_strict=True,
    )
    for statement in SQLITE if op.get_bind().dialect.name == "sqlite" else POSTGRESQL:
        op.execute(statement)
