"""A PostgreSQL server for the tests: Debian's own, in a temporary folder, reached by a socket alone."""

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from psycopg.sql import SQL, Identifier
from sqlalchemy import make_url

__all__ = ["absent", "database", "server"]

BINARIES = Path("/usr/lib/postgresql")


@contextmanager
def server() -> Iterator[str]:
    """The address of a running server; TEST_PG_URL names one that runs already.

    Without a server the tests are skipped with a reason; where CI=true they fail.
    """
    if given := os.environ.get("TEST_PG_URL"):
        yield given
        return
    programs = _programs()
    if programs is None:
        absent("Debian's postgresql is not installed and TEST_PG_URL is not set")
        return
    folder = Path(tempfile.mkdtemp(prefix="gw-pg-"))
    try:
        yield from _running(programs, folder)
    finally:
        shutil.rmtree(folder)


def absent(reason: str) -> None:
    """Skip a test for want of a program; fail it where CI=true.

    Args:
        reason: what is missing.
    """
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


def _programs() -> Path | None:
    found = sorted(BINARIES.glob("*/bin/initdb"))
    usable = found and (os.geteuid() != 0 or shutil.which("runuser"))
    return found[-1].parent if usable else None


def _running(programs: Path, folder: Path) -> Iterator[str]:
    as_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    if as_user:
        shutil.chown(folder, "postgres")
    data = folder / "data"
    _run(*as_user, programs / "initdb", "-D", data, "-U", "gas", "-A", "trust", "--no-sync", "-E", "UTF8",
         "--locale=C.UTF-8")
    options = f"-c listen_addresses= -c unix_socket_directories={folder} -c fsync=off -c log_min_messages=panic"
    _run(*as_user, programs / "pg_ctl", "-D", data, "-w", "-o", options, "-l", folder / "log", "start")
    try:
        yield f"postgresql+psycopg://gas@/postgres?host={folder}"
    finally:
        _run(*as_user, programs / "pg_ctl", "-D", data, "-m", "immediate", "stop")


def _run(*command: str | Path) -> None:
    subprocess.run([str(word) for word in command], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)


@contextmanager
def database(address: str, name: str = "") -> Iterator[str]:
    """The address of a fresh, empty database on a server; it is dropped at the end.

    Args:
        address: of the server.
        name: of the database, made up where empty.
    """
    fresh = name or f"t{os.getpid()}_{time.monotonic_ns()}"
    plain = address.replace("postgresql+psycopg://", "postgresql://")
    with psycopg.connect(plain, autocommit=True) as connection:
        connection.execute(SQL("CREATE DATABASE {}").format(Identifier(fresh)))
    try:
        yield make_url(address).set(database=fresh).render_as_string(hide_password=False)
    finally:
        with psycopg.connect(plain, autocommit=True) as connection:
            connection.execute(SQL("DROP DATABASE {} WITH (FORCE)").format(Identifier(fresh)))
