"""Evidence: all that a book holds about one frozen cylinder, in one file that a stranger can check without us."""

import csv
import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from textwrap import dedent

from gaswright.book.equals import one_of_equals
from gaswright.book.handle import Book
from gaswright.book.rows import StoredFact, read_fact
from gaswright.custody.fact import Fact, FactId, Kind, Value
from gaswright.custody.folding import fold
from gaswright.errors import Refused
from gaswright.exchange.answers import PROGRAM
from gaswright.exchange.policy_file import POLICY_NAMES
from gaswright.exchange.records import BookHead, Making, RecordKind, record_of
from gaswright.policy import Policy
from gaswright.services.book_acts import checked_cylinder
from gaswright.services.book_opening import OpenBook
from gaswright.services.book_people import person_ids
from gaswright.services.records import making_of, notes_of, record_files, write_atomically

__all__ = ["evidence_bytes", "write_evidence"]

RECORDS = (RecordKind.FILL_LOG, RecordKind.ANALYSIS_LOG, RecordKind.LABELS, RecordKind.EQUIPMENT, RecordKind.DIVES,
           RecordKind.INCIDENTS)
NAMING = ("dive/", "incident/")  # streams whose facts may name a cylinder
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest that the format can say: the time stands in the files
_READ = 0o644


def write_evidence(opened: OpenBook, cylinder: str, path: Path, *, by: str = "", stock: str = "a4") -> Path:
    """The file of evidence, written whole or not at all.

    Args:
        opened: the book.
        cylinder: id of a frozen one.
        path: of the file; one that is there is replaced.
        by: person id of who asks for it, "" where nobody is named.
        stock: of the PDFs: "a4" or "letter".

    Raises:
        InputError: an unknown cylinder or person, or the file cannot be written.
        Refused: the cylinder is not frozen.
    """
    write_atomically(path, evidence_bytes(opened, cylinder, by=by, stock=stock))
    return path


def evidence_bytes(opened: OpenBook, cylinder: str, *, by: str = "", stock: str = "a4") -> bytes:
    """The zip file of evidence; equal books at equal times give equal bytes.

    Args:
        opened: the book.
        cylinder: id of a frozen one.
        by: person id of who asks for it, "" where nobody is named.
        stock: of the PDFs: "a4" or "letter".

    Raises:
        InputError: an unknown cylinder or person.
        Refused: the cylinder is not frozen.
    """
    gas = checked_cylinder(opened.book, cylinder)
    if not fold(gas, cylinder, opened.policy, zone=opened.zone, now=None).frozen:
        raise Refused(f"cylinder {cylinder} is not frozen: its gas can change while somebody looks; freeze it first, "
                      "then make the evidence")
    stored = _stored(opened.book, cylinder, gas)
    making = making_of(opened, by)
    members = {
        "facts.jsonl": "".join(f"{one.text}\n" for one in stored).encode(),
        "chain.csv": _csv(("fact", "previous", "hash"), [(one.id, one.previous, one.hash) for one in stored]),
        "heads.csv": _csv(("origin", "number", "hash"), [(h.origin, str(h.number), h.hash) for h in making.heads]),
        "policy.json": _policy_json(opened.policy), **_records(opened, stored, making, cylinder, stock),
    }
    members["README.txt"] = _readme(cylinder, stored, making).encode()
    members["SHA256SUMS"] = _sums(members)
    return _zipped(members)


def _stored(book: Book, cylinder: str, gas: Sequence[Fact]) -> tuple[StoredFact, ...]:
    """The facts of the cylinder's streams, of the analysers that measured it, of dives and incidents that name it."""
    analysers = sorted({said for fact in gas if isinstance(said := fact.data.get("analyser"), str)})
    own = (f"gas/{cylinder}", f"register/{cylinder}", *(f"analyser/{name}" for name in analysers))
    ids = frozenset(fact.id for fact in gas)
    naming = [stream for room in NAMING for stream in book.streams(room)
              if any(_names(fact, cylinder, ids) for fact in book.stream(stream))]
    return book.stored((*own, *naming))


def _names(fact: Fact, cylinder: str, ids: frozenset[FactId]) -> bool:
    """True if a fact names the cylinder, anywhere in its data, or one of the cylinder's facts."""
    return not ids.isdisjoint((*fact.after, *fact.rests_on)) or _holds(dict(fact.data), cylinder)


def _holds(value: Value, wanted: str) -> bool:
    if isinstance(value, dict):
        return wanted in value or any(_holds(one, wanted) for one in value.values())
    return any(_holds(one, wanted) for one in value) if isinstance(value, list) else value == wanted


def _csv(head: Sequence[str], rows: Sequence[Sequence[str]]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows([head, *rows])
    return out.getvalue().encode()


def _policy_json(policy: Policy) -> bytes:
    settings = {name: {"value": getattr(policy, name), "source": policy.rule(name).source,
                       "loosened": name in policy.loosened} for name in POLICY_NAMES}
    return (json.dumps({"version": policy.version, "settings": settings}, indent=2, sort_keys=True) + "\n").encode()


def _records(
    opened: OpenBook, stored: Sequence[StoredFact], making: Making, cylinder: str, stock: str
) -> dict[str, bytes]:
    facts = one_of_equals([read_fact(one.id, one.text) for one in stored])
    names, notes = person_ids(opened), notes_of(opened.book)
    made: dict[str, bytes] = {}
    for kind in RECORDS:
        table = record_of(kind, facts, names, making, notes=notes)
        titled = replace(table, title=f"{table.title}, cylinder {cylinder}")
        made |= {f"records/{name}": content for name, content in record_files(titled, stock=stock).files.items()}
    return made


def _sums(members: Mapping[str, bytes]) -> bytes:
    return "".join(f"{sha256(members[name]).hexdigest()}  {name}\n" for name in sorted(members)).encode()


def _zipped(members: Mapping[str, bytes]) -> bytes:
    """A zip of stored members in the order of their names, without the clock, user or compressor of a machine."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(members):
            entry = zipfile.ZipInfo(name, _ZIP_DATE)
            entry.create_system, entry.external_attr = 3, _READ << 16
            archive.writestr(entry, members[name])
    return out.getvalue()


def _readme(cylinder: str, stored: Sequence[StoredFact], making: Making) -> str:
    heads = "\n".join(_head_line(head) for head in making.heads)
    frozen = [fact.id for one in stored if (fact := read_fact(one.id, one.text)).kind == Kind.FROZEN
              and fact.stream == f"gas/{cylinder}"]
    return _README.format(
        cylinder=cylinder, made=making.at.isoformat(timespec="seconds"), by=making.by or "nobody named",
        program=PROGRAM, policy=making.policy.version, count=len(stored), heads=heads, frozen=", ".join(frozen),
    )


def _head_line(head: BookHead) -> str:
    return f"    {head.origin}-{head.number}  {head.hash}"


_README = dedent("""\
    EVIDENCE: CYLINDER {cylinder}

    Made {made} by {by} with {program}, policy {policy}.
    Frozen by: {frozen}

    WHAT THIS IS
    Every fact that one book held about this cylinder when this file was made ({count} facts): its gas, its register,
    the calibrations and checks of the analysers named in its analyses, and dives and incidents that name it.
    Corrections are facts of their own; what they void is kept.

      facts.jsonl    one fact a line, as stored: canonical JSON (keys sorted, no spaces), UTF-8
      chain.csv      for each of these lines, in the same order: hash of the fact before it in the book, and its own
      heads.csv      number and hash of the latest fact of every origin of the book
      policy.json    the limits that the book judged by when this file was made, each with its source
      records/       the same facts as tables: PDF to read, CSV and JSON to work with
      SHA256SUMS     SHA-256 of every other file here (check with: sha256sum -c SHA256SUMS)

    HOW TO CHECK IT WITHOUT THIS PROGRAM
    For each line: SHA-256 over the text of column "previous" followed by the line (without its end of line) must be
    column "hash". Where the fact before a line belongs to another cylinder, its text is not here, only its hash: that
    no fact between was left out or changed shows only in the whole book (book verify), or in another copy of it, a
    backup, a bundle, or a paper printed earlier that shows the same head.

    Heads of the book when this file was made:
    {heads}

    WHAT THIS IS NOT
    - It is evidence against quiet change, not proof of identity. "By" says under whose id somebody recorded; nothing
      here is signed, and whoever held the book could write a new one from the start. Heads that others hold on paper
      or in their own books speak against that.
    - It is not proof that an entry was true. It shows what was entered, when by the clock of the author ("at") and of
      the machine ("recorded"), and that it was not changed since.
    - It is not an analysis of the gas in the cylinder. Leave the cylinder shut, sealed and labelled; a laboratory
      that the authority names takes the sample.
    - Names and free texts stand outside the chain and may have been erased; the chain holds ids and hashes of them.

    It holds names of people: hand it to those who have a right to it, and to nobody else.
    """)
