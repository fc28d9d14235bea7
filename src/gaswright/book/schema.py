"""The tables of the book as this program knows them; `migrations` makes them."""

from sqlalchemy import Column, ForeignKey, Integer, MetaData, PrimaryKeyConstraint, Table, Text, UniqueConstraint

__all__ = ["REVISIONS", "TRIGGERS", "book", "erased", "facts", "notes", "origins", "people", "streams"]

REVISIONS = ("0001", "0002")  # every schema this program can read, the last is its own
TRIGGERS = ("facts_no_delete", "facts_no_update", "facts_predecessor")

_METADATA = MetaData()
_TEXT = Text().with_variant(Text(collation="C"), "postgresql")  # the order of code points, as SQLite's BINARY

book = Table(  # one row: under which origin this copy writes, and where it was when it began to
    "book", _METADATA,
    Column("one", Integer, primary_key=True), Column("origin", _TEXT, nullable=False),
    Column("place", _TEXT, nullable=False), Column("made", _TEXT, nullable=False),
    sqlite_strict=True,
)
origins = Table(  # every origin that the book holds facts of; own: this book or what it was restored from wrote it
    "origins", _METADATA,
    Column("origin", _TEXT, primary_key=True), Column("first_hash", _TEXT, nullable=False),
    Column("own", Integer, nullable=False),
    sqlite_strict=True,
)
facts = Table(
    "facts", _METADATA,
    Column("origin", _TEXT, ForeignKey("origins.origin"), nullable=False), Column("number", Integer, nullable=False),
    Column("previous", _TEXT, nullable=False), Column("hash", _TEXT, nullable=False),
    Column("stream", _TEXT, nullable=False), Column("kind", _TEXT, nullable=False),
    Column("recorded", _TEXT, nullable=False), Column("key", _TEXT, nullable=False),
    Column("text", _TEXT, nullable=False),
    PrimaryKeyConstraint("origin", "number"), UniqueConstraint("key", "origin"),
    sqlite_strict=True,
)
streams = Table(  # rule 19: a cache, never a source
    "streams", _METADATA,
    Column("stream", _TEXT, primary_key=True), Column("heads", _TEXT, nullable=False),
    Column("in_force", _TEXT, nullable=False), Column("standing", _TEXT), Column("fold_version", _TEXT, nullable=False),
    Column("count", Integer, nullable=False), Column("seal", _TEXT, nullable=False),
    sqlite_strict=True,
)
people = Table(  # deletable: names never stand in the chain
    "people", _METADATA,
    Column("person", _TEXT, nullable=False), Column("salt", _TEXT, nullable=False),
    Column("name", _TEXT, nullable=False), Column("hash", _TEXT, nullable=False),
    PrimaryKeyConstraint("person", "salt"),
    sqlite_strict=True,
)
notes = Table(  # deletable: the chain holds the hash alone
    "notes", _METADATA,
    Column("hash", _TEXT, primary_key=True), Column("salt", _TEXT, nullable=False),
    Column("text", _TEXT, nullable=False),
    sqlite_strict=True,
)
erased = Table(  # what a merge must not bring back; holds no name
    "erased", _METADATA, Column("mark", _TEXT, primary_key=True), sqlite_strict=True,
)
