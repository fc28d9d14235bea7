"""The row of a stream: what was folded from its facts, kept so that a day is read at once. Never a source."""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from sqlalchemy import Connection, delete, insert, select

from gaswright.book.canonical import text_of
from gaswright.book.schema import streams
from gaswright.custody.fact import Fact, FactId, Value
from gaswright.custody.heads import heads, unreplaced_analyses, voids

__all__ = ["Folding", "StreamRow", "dropped", "kept", "row_of", "seal_of", "stored_row", "stored_rows", "values_of"]


@dataclass(frozen=True, slots=True)
class Folding:
    """How the standing of a stream is folded; it comes from the room that knows.

    Args:
        version: changes whenever the same facts would fold differently: rows of any other version are dropped.
        reads: of a stream: every stream whose facts its standing is folded from; empty: it has no standing.
        feeds: of a stream: the other streams whose standing is folded from its facts.
        fold: of a stream and those facts: its standing as canonical data; without a clock.
    """

    version: str
    reads: Callable[[str], tuple[str, ...]]
    feeds: Callable[[str], tuple[str, ...]]
    fold: Callable[[str, Sequence[Fact]], Mapping[str, Value]]


@dataclass(frozen=True, slots=True)
class StreamRow:
    """What is kept of one stream.

    Args:
        stream: name.
        heads: ids of the gas-changing facts that no other one names.
        in_force: ids of the analyses on them, neither replaced nor voided.
        standing: as folded, None where no folding was given or the stream has none.
        fold_version: of the folding, empty without one.
        count: of facts.
    """

    stream: str
    heads: tuple[FactId, ...]
    in_force: tuple[FactId, ...]
    standing: Mapping[str, Value] | None
    fold_version: str
    count: int


def row_of(stream: str, own: Sequence[Fact], count: int, folding: Folding | None, read: Sequence[Fact]) -> StreamRow:
    """The row of a stream, folded afresh.

    Args:
        stream: name.
        own: its facts.
        count: of its facts in the store, copies counted.
        folding: None: no standing.
        read: the facts of every stream that the folding reads.
    """
    tops, corrected = heads(own), voids(own)
    in_force = {fact.id for head in tops for fact in unreplaced_analyses(own, head) if fact.id not in corrected}
    standing = folding.fold(stream, read) if folding and folding.reads(stream) else None
    version = folding.version if folding else ""
    return StreamRow(stream, tuple(sorted(fact.id for fact in tops)), tuple(sorted(in_force)), standing, version, count)


def values_of(row: StreamRow) -> dict[str, str | int | None]:
    """The columns of a row, its seal among them.

    Args:
        row: folded.
    """
    values: dict[str, str | int | None] = {
        "stream": row.stream, "heads": json.dumps(row.heads), "in_force": json.dumps(row.in_force),
        "standing": None if row.standing is None else text_of(row.standing), "fold_version": row.fold_version,
        "count": row.count,
    }
    return values | {"seal": seal_of(values)}


def seal_of(values: Mapping[str, str | int | None]) -> str:
    """The SHA-256 over the columns of a row, hex: one altered byte shows without a fold.

    Args:
        values: of the row, its seal not read.
    """
    names = ("stream", "heads", "in_force", "standing", "fold_version", "count")
    return hashlib.sha256(json.dumps([values[name] for name in names]).encode()).hexdigest()


def kept(connection: Connection, rows: Sequence[StreamRow]) -> None:
    """Nothing; the rows stand in the store afterwards.

    Args:
        connection: in a writing transaction.
        rows: folded.
    """
    dropped(connection, [row.stream for row in rows])
    if rows:
        connection.execute(insert(streams), [values_of(row) for row in rows])


def dropped(connection: Connection, names: Sequence[str]) -> None:
    """Nothing; the rows of these streams are gone and will be folded when they are asked for.

    Args:
        connection: in a writing transaction.
        names: of streams.
    """
    for name in names:
        connection.execute(delete(streams).where(streams.c.stream == name))


def stored_row(connection: Connection, name: str, folding: Folding | None) -> StreamRow | None:
    """The kept row of a stream, None if there is none of this folding.

    Args:
        connection: in any transaction.
        name: of the stream.
        folding: whose version the row must have; None: any.
    """
    found = connection.execute(select(streams).where(streams.c.stream == name)).mappings().one_or_none()
    return None if found is None else _of_version(_row(dict(found)), folding)


def stored_rows(connection: Connection, prefix: str, folding: Folding | None) -> dict[str, StreamRow]:
    """The kept rows of every stream whose name begins so.

    Args:
        connection: in any transaction.
        prefix: "gas/".
        folding: as in `stored_row`.
    """
    wanted = select(streams).where(streams.c.stream >= prefix, streams.c.stream < prefix + "\U0010ffff")
    rows = [_of_version(_row(dict(found)), folding) for found in connection.execute(wanted).mappings()]
    return {row.stream: row for row in rows if row is not None}


def _of_version(row: StreamRow | None, folding: Folding | None) -> StreamRow | None:
    return row if row and (folding is None or row.fold_version == folding.version) else None


def _row(values: Mapping[str, str | int | None]) -> StreamRow | None:
    """The row, None if a byte of it was altered: it is folded afresh then, and verify names it."""
    if seal_of(values) != values["seal"]:
        return None
    standing = values["standing"]
    return StreamRow(
        str(values["stream"]), tuple(json.loads(str(values["heads"]))), tuple(json.loads(str(values["in_force"]))),
        None if standing is None else cast("dict[str, Value]", json.loads(str(standing))),
        str(values["fold_version"]), int(str(values["count"])),
    )
