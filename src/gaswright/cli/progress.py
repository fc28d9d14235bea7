"""A progress bar on the error stream, for work that takes more than two seconds."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

__all__ = ["progress_bar"]

QUIET_S = 2.0  # shorter work shows no bar


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None]]:
    """A function that is told how much is done, and of how much; the bar appears after two seconds and goes at the end.

    Args:
        what: is being done, in a few words.
    """
    begin_s = time.monotonic()
    bar = Progress(TextColumn(what), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(),
                   console=Console(stderr=True), transient=True)  # fmt: skip
    task = bar.add_task(what)
    started = False

    def told(done: int, of: int) -> None:
        nonlocal started
        if not started and time.monotonic() - begin_s > QUIET_S and done < of:
            bar.start()
            started = True
        bar.update(task, completed=done, total=of)

    try:
        yield told
    finally:
        if started:
            bar.stop()
