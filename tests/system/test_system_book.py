"""The book under what happens to a laptop on a boat: killed, copied, full, locked, and everybody at once.

GASWRIGHT_SYSTEM=1 runs as often as the promise says; without it a few rounds show that the way is still right.
"""

import contextlib
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from book_days import NOW, draft, made, put, reopened
from gaswright.book.engine import writing
from gaswright.book.errors import BookUnavailable
from gaswright.book.store import create_book, open_book
from gaswright.book.verify import verify
from postgres_server import database

OFTEN = os.environ.get("GASWRIGHT_SYSTEM") == "1"
KILLS = 100 if OFTEN else 4  # of each store
COPIES = 200 if OFTEN else 12
WRITER = str(Path(__file__).parent / "writing.py")


@contextlib.contextmanager
def writer(*words: str, out: Path) -> Iterator[subprocess.Popen[bytes]]:
    """A running writer whose acknowledgements are appended to a file."""
    with out.open("ab") as lines, subprocess.Popen([sys.executable, WRITER, *words], stdout=lines) as process:
        try:
            yield process
        finally:
            with contextlib.suppress(ProcessLookupError):
                process.send_signal(signal.SIGCONT)
            process.kill()
            process.wait()


def acknowledged(out: Path) -> set[str]:
    """The ids of which a writer said that they are durable; half a line was not said."""
    whole, _, _ = out.read_text().rpartition("\n")
    return set(whole.split())


def wait_for(out: Path, size: int) -> None:
    """Nothing, once a writer has said something beyond a size."""
    until = time.monotonic() + 60
    while (out.stat().st_size if out.exists() else 0) <= size:
        assert time.monotonic() < until, "the writer says nothing"
        time.sleep(0.002)


def test_killed_writer_loses_no_acknowledged_fact(url: str, tmp_path: Path) -> None:
    """Killed at random moments again and again: every acknowledged fact is there, the chain is whole, no gap."""
    create_book(url, origin="K7Q2M9XA", now=NOW, origins=tmp_path / "origins")
    out, chance = tmp_path / "said", Random(7)  # noqa: S311  moments, not secrets
    for round_ in range(KILLS):
        before = out.stat().st_size if out.exists() else 0
        with writer("one", url, str(tmp_path / "origins"), f"round{round_}", out=out) as process:
            wait_for(out, before)
            time.sleep(chance.uniform(0, 0.05))
            process.send_signal(signal.SIGKILL)
            process.wait()
        with open_book(url, now=NOW, origins=tmp_path / "origins") as book:
            there = {fact.id for fact in book.facts()}
            assert acknowledged(out) <= there
            assert verify(book).problems == ()
            assert book.origin == "K7Q2M9XA"


def test_copies_taken_under_a_writer_open_clean(tmp_path: Path) -> None:
    """Database and journal, copied at random moments of a writer that stands still meanwhile, are a whole book."""
    url = f"sqlite:///{tmp_path / 'boat.db'}"
    create_book(url, now=NOW, origins=tmp_path / "origins")
    out, chance, hot = tmp_path / "said", Random(11), 0  # noqa: S311  moments, not secrets
    with writer("one", url, str(tmp_path / "origins"), "w", out=out) as process:
        wait_for(out, 0)
        for number in range(COPIES):
            time.sleep(chance.uniform(0.001, 0.02))
            process.send_signal(signal.SIGSTOP)
            os.waitid(os.P_PID, process.pid, os.WSTOPPED | os.WNOWAIT)
            said = acknowledged(out)
            copied = tmp_path / f"copy{number}.db"
            shutil.copyfile(tmp_path / "boat.db", copied)
            if (tmp_path / "boat.db-journal").exists():
                shutil.copyfile(tmp_path / "boat.db-journal", f"{copied}-journal")
                hot += 1
            process.send_signal(signal.SIGCONT)
            with reopened(tmp_path, copied.stem) as book:
                assert verify(book).problems == ()
                assert said <= {fact.id for fact in book.facts()}
    assert hot > 0  # some copies were taken in the middle of a transaction


def test_everybody_at_once_with_repeated_keys(url: str, tmp_path: Path) -> None:
    """Two programs of 20 threads send the same keys: each stands for one request, everybody is told the same ids."""
    create_book(url, now=NOW, origins=tmp_path / "origins")
    keys, outs = 12, [tmp_path / "said1", tmp_path / "said2"]
    with contextlib.ExitStack() as stack:
        running = [stack.enter_context(writer("keys", url, str(tmp_path / "origins"), "20", str(keys), out=out))
                   for out in outs]
        assert [process.wait(timeout=300) for process in running] == [0, 0]
    told = [line.split() for out in outs for line in out.read_text().splitlines()]
    assert len(told) == 2 * 20 * keys
    answers = {key: {tuple(ids) for name, *ids in told if name == key} for key, *_ in told}
    assert all(len(ids) == 1 for ids in answers.values())
    with open_book(url, now=NOW, origins=tmp_path / "origins") as book:
        facts = list(book.facts())
        assert {name for ids in answers.values() for one in ids for name in one} == {fact.id for fact in facts}
        assert len(facts) == 2 * keys
        assert verify(book).problems == ()


def run_to_end(*words: str, out: Path) -> list[list[str]]:
    """What a writer says until it ends by itself."""
    with writer(*words, out=out) as process:
        assert process.wait(timeout=120) == 0
    return [line.split() for line in out.read_text().splitlines()]


@pytest.mark.parametrize("room", [0, 3000, 20_000])
def test_full_disk_is_said_and_loses_nothing(room: int, tmp_path: Path) -> None:
    """Where no file may grow any more the entry is refused in a sentence; what was acknowledged is there."""
    with made(tmp_path) as book:
        put(book, *(draft(stream=f"gas/c{number}") for number in range(7)))
        origin = book.origin
    size = (tmp_path / "boat.db").stat().st_size
    *said, refusal = run_to_end("full", f"sqlite:///{tmp_path / 'boat.db'}", str(tmp_path / "origins"),
                                str(size + room), out=tmp_path / "said")
    assert refusal[:2] == ["refused", "BookUnavailable"]
    assert "nothing was recorded" in " ".join(refusal)
    with reopened(tmp_path) as book:
        there = {fact.id for fact in book.facts()}
        assert {name for line in said for name in line} <= there
        assert len(there) == 7 + len(said)
        assert verify(book).problems == ()
        assert put(book, draft()) == (f"{origin}-{len(there) + 1}",)


def test_folder_that_may_not_be_written_is_said(tmp_path: Path) -> None:
    """In a folder without the right to write, the book is read, and an entry is refused in a sentence."""
    with tempfile.TemporaryDirectory(prefix="gw-shelf-") as shelf:  # pytest's own folders are closed to others
        folder = Path(shelf)
        with made(folder) as book:
            put(book, draft())
        (folder / "boat.db").chmod(0o444)
        folder.chmod(0o555)
        said = run_to_end("nobody", f"sqlite:///{folder / 'boat.db'}", str(folder / "origins"), out=tmp_path / "said")
        folder.chmod(0o755)
        (folder / "boat.db").chmod(0o644)
        assert said[0][:2] == ["refused", "BookUnavailable"]
        assert "the file or its folder cannot be written" in " ".join(said[0])
        with reopened(folder) as book:
            assert len(list(book.facts())) == 1


def test_locked_file_is_said_and_waited_for(tmp_path: Path) -> None:
    """While another program holds the file an entry is refused in a sentence; afterwards it is taken."""
    made(tmp_path).close()
    with open_book(f"sqlite:///{tmp_path / 'boat.db'}", now=NOW, origins=tmp_path / "origins", busy_s=0.2) as book:
        with contextlib.closing(sqlite3.connect(tmp_path / "boat.db")) as other:
            other.execute("BEGIN EXCLUSIVE")
            with pytest.raises(BookUnavailable, match="another program holds it"):
                put(book, draft(), key="k")
        assert put(book, draft(), key="k") == (f"{book.origin}-1",)


def test_locked_server_is_said(postgres: str, tmp_path: Path) -> None:
    """While another session holds the lock an entry is refused in a sentence; afterwards it is taken."""
    with database(postgres) as address:
        create_book(address, origin="SERVER01", now=NOW, origins=tmp_path / "o")
        with open_book(address, now=NOW, origins=tmp_path / "o", busy_s=0.2) as book:
            with writing(book.engine) as holder:
                assert not holder.closed
                with pytest.raises(BookUnavailable, match="another program holds it"):
                    put(book, draft(), key="k")
            assert put(book, draft(), key="k") == ("SERVER01-1",)
