"""Connections: the settings without which a store may lose a fact, and one sentence for each way it can fail."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from sqlite3 import Connection as SqliteConnection
from sqlite3 import Error as SqliteError
from urllib.parse import unquote

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from gaswright.book.errors import BookDamaged, BookUnavailable
from gaswright.errors import GaswrightError, InputError

__all__ = ["BUSY_S", "engine_of", "file_of", "in_words", "reading", "vacuumed_into", "writing"]

BUSY_S = 30.0
_LOCK = 0x6A5717  # the advisory lock under which numbers are taken in PostgreSQL; any fixed number
_WRITE = "gaswright_write"


def file_of(url: str) -> Path | None:
    """The file of an SQLite book, None for PostgreSQL.

    Args:
        url: sqlite:///path or postgresql+psycopg://...

    Raises:
        InputError: it is neither.
    """
    made = _url(url)
    return Path(str(made.database)).absolute() if made.get_backend_name() == "sqlite" else None


def _url(url: str) -> URL:
    try:
        made = make_url(url)
        backend = made.get_backend_name()
    except (ArgumentError, ValueError) as error:
        raise InputError(_WRONG) from error
    if backend == "sqlite" and made.database not in {None, "", ":memory:"} and not made.query:
        return made.set(drivername="sqlite+pysqlite")
    if backend == "postgresql" and made.drivername in {"postgresql", "postgresql+psycopg"}:
        return made.set(drivername="postgresql+psycopg")
    raise InputError(_WRONG)


_WRONG = "the book's address must be sqlite:///path/of/file.db or postgresql+psycopg://user@host/database"


def engine_of(url: str, *, read_only: bool = False, busy_s: float = BUSY_S) -> Engine:
    """The engine of a book, every connection set for durability.

    Args:
        url: of the book; an SQLite file must exist unless it is about to be made.
        read_only: the store itself refuses to write.
        busy_s: how long to wait for another writer [s].

    Raises:
        InputError: the address cannot be read, or PostgreSQL's driver is not installed.
    """
    made = _url(url)
    if made.get_backend_name() == "sqlite":
        return _sqlite(Path(str(made.database)).absolute(), read_only=read_only, busy_s=busy_s)
    return _postgresql(made, read_only=read_only, busy_s=busy_s)


def _sqlite(path: Path, *, read_only: bool, busy_s: float) -> Engine:
    # never mode=ro: a book whose writer was killed is whole only once its journal was rolled back
    address = URL.create("sqlite+pysqlite", database=path.as_uri(), query={"uri": "true", "mode": "rw"})
    engine = create_engine(address, connect_args={"timeout": busy_s}, pool_size=5, max_overflow=30)

    @event.listens_for(engine, "connect")
    def _settings(connection: SqliteConnection, _record: object) -> None:
        connection.isolation_level = None  # transactions are begun below, in words
        for setting in ("foreign_keys = ON", "synchronous = EXTRA", "secure_delete = ON", "trusted_schema = OFF",
                        "temp_store = MEMORY"):
            connection.execute(f"PRAGMA {setting}")
        connection.execute("PRAGMA query_only = ON" if read_only else "PRAGMA journal_mode = DELETE")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.get_execution_options().get(_WRITE) else "BEGIN")

    return engine


def _postgresql(address: URL, *, read_only: bool, busy_s: float) -> Engine:
    settings = {"synchronous_commit": "on", "lock_timeout": str(int(busy_s * 1000)), "timezone": "UTC",
                "client_encoding": "utf8"}
    if read_only:
        settings["default_transaction_read_only"] = "on"
    options = " ".join(f"-c {name}={value}" for name, value in settings.items())
    try:
        return create_engine(address, connect_args={"options": options, "connect_timeout": 10}, pool_size=5,
                             max_overflow=30)
    except (ImportError, NoSuchModuleError) as error:
        raise InputError("PostgreSQL's driver is not installed; install gaswright[postgres]") from error


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that sees one state of the book and changes nothing.

    Args:
        engine: of the book.

    Raises:
        BookUnavailable: the store cannot be read now.
        BookDamaged: the store's file is broken.
    """
    level = {"isolation_level": "REPEATABLE READ"} if engine.dialect.name == "postgresql" else {}
    with in_words(engine), engine.connect() as bare:
        connection = bare.execution_options(**level)
        with connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """The one writing transaction; durable when it ends without an error, without any effect otherwise.

    Args:
        engine: of the book.

    Raises:
        BookUnavailable: the store cannot be written now.
        BookDamaged: the store's file is broken, or a trigger refused what was to be written.
    """
    with in_words(engine), engine.connect() as bare:
        connection = bare.execution_options(**{_WRITE: True})
        with connection.begin():
            if engine.dialect.name == "postgresql":
                connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
            yield connection


def vacuumed_into(engine: Engine, target: Path) -> None:
    """Nothing; the target holds one state of an SQLite book afterwards, without what was erased.

    Args:
        engine: of the book.
        target: an empty file.

    Raises:
        BookUnavailable: the book cannot be read or the target not be written.
    """
    raw = engine.raw_connection()
    try:
        cursor = raw.cursor()
        reads_alone = cursor.execute("PRAGMA query_only").fetchone()[0]
        cursor.execute("PRAGMA query_only = OFF")  # it would forbid to write the target as well
        cursor.execute("VACUUM INTO ?", (str(target),))
        cursor.execute(f"PRAGMA query_only = {reads_alone}")
    except SqliteError as error:
        raw.invalidate()
        raise _said(engine, str(error)) from error
    finally:
        raw.close()


@contextmanager
def in_words(engine: Engine) -> Iterator[None]:
    """Nothing; inside it the store's own errors become ours, in one sentence.

    Args:
        engine: whose address is named without its password.

    Raises:
        BookUnavailable: the store cannot be reached or used now.
        BookDamaged: the store's file is broken, or a trigger refused what was to be written.
    """
    try:
        yield
    except GaswrightError:
        raise
    except DBAPIError as error:
        raise _said(engine, str(error.orig)) from error


def _said(engine: Engine, said: str) -> GaswrightError:
    where = engine.url.render_as_string(hide_password=True)
    if engine.dialect.name == "sqlite":
        where = unquote(str(engine.url.database)).removeprefix("file://")
    words = (said.strip() or "no reason given").splitlines()[0]
    for sign, mend in _SIGNS.items():
        if sign in words:
            return BookUnavailable(f"the book {where} cannot be used: {mend} ({words}); nothing was recorded")
    if "malformed" in words or "not a database" in words or words.startswith("book:"):
        return BookDamaged(f"the book {where} is damaged or was written by force: {words}; nothing was recorded; "
                           "run verify, restore the latest verified backup")
    return BookUnavailable(f"the book {where} cannot be used: {words}; nothing was recorded")


_SIGNS = {
    "locked": "another program holds it; wait or end that program",
    "lock timeout": "another program holds it; wait or end that program",
    "full": "the disk is full; make room",
    "disk I/O error": "the disk refuses to write, perhaps it is full; make room or use another disk",
    "readonly": "the file or its folder cannot be written; mend the rights or open it for reading only",
    "read-only transaction": "it was opened for reading only",
    "unable to open": "there is no such file, or the folder cannot be written; make it with book init",
    "No space left": "the disk is full; make room",
}
