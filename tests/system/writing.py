"""A program that writes into a book until it is stopped, each acknowledged id on a line of its own.

    python writing.py one URL ORIGINS PREFIX            facts one after another, for ever
    python writing.py keys URL ORIGINS THREADS KEYS     the same keys from many threads, once each
    python writing.py full URL ORIGINS BYTES            no file may grow beyond so many bytes
    python writing.py nobody URL ORIGINS                as a user who may not write
"""

import os
import resource
import sys
import threading
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from random import Random

from gaswright.book.draft import Draft
from gaswright.book.handle import Book
from gaswright.book.store import open_book
from gaswright.errors import GaswrightError

NOBODY = 65534


def now() -> datetime:
    """The clock."""
    return datetime.now(UTC)


def say(*words: str) -> None:
    """A line, out at once and whole."""
    os.write(1, (" ".join(words) + "\n").encode())


def fill(book: Book, key: str, cylinder: int, facts: int = 1) -> tuple[str, ...]:
    """One request."""
    drafts = [Draft("cylinder.filled", f"gas/c{cylinder}", now(), "d1", data={"key": key, "note": "x" * 200})] * facts
    return book.append(drafts, key=key, request=key, now=now())


def one(book: Book, prefix: str) -> None:
    """Requests of one to three facts, for ever."""
    for number in count():
        say(*fill(book, f"{prefix}-{number}", number % 7, 1 + number % 3))


def keys(book: Book, threads: int, wanted: int) -> None:
    """Every thread sends every key once, in an order of its own."""
    def send(seed: int) -> None:
        order = list(range(wanted))
        Random(seed).shuffle(order)  # noqa: S311  an order, not a secret
        for key in order:
            say(f"key{key}", *fill(book, f"key{key}", key % 3, 2))

    running = [threading.Thread(target=send, args=(seed,)) for seed in range(threads)]
    for thread in running:
        thread.start()
    for thread in running:
        thread.join()


def until_refused(book: Book) -> None:
    """Requests until one is refused; then the sentence."""
    for number in range(10_000):
        try:
            say(*fill(book, f"until-{os.getpid()}-{number}", number % 7))
        except GaswrightError as error:
            say("refused", type(error).__name__, str(error))
            return


def main(what: str, url: str, origins: str, *more: str) -> None:
    """Do what the first word says."""
    with open_book(url, now=now(), origins=Path(origins)) as book:
        if what == "one":
            one(book, more[0])
        elif what == "keys":
            keys(book, int(more[0]), int(more[1]))
        elif what == "full":
            resource.setrlimit(resource.RLIMIT_FSIZE, (int(more[0]), int(more[0])))
            until_refused(book)
        elif what == "nobody":
            book.close()
            if os.geteuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)
            until_refused(book)


if __name__ == "__main__":
    main(*sys.argv[1:])
