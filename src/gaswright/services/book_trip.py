"""A trip file into the book, and a day of the book out as a trip file."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from gaswright.book.appending import appended, check_request
from gaswright.book.draft import Draft
from gaswright.book.people import Note, added_person, kept_notes, note_of
from gaswright.custody.fact import Fact, FactId, Kind, Value
from gaswright.custody.folding import fold
from gaswright.custody.heads import GAS_CHANGING, of_kind
from gaswright.custody.registering import register
from gaswright.custody.standing import Standing
from gaswright.errors import InputError, Problem, Refused
from gaswright.exchange.toml_file import toml_of_text
from gaswright.exchange.trip import Trip
from gaswright.exchange.trip_facts import facts_of
from gaswright.exchange.trip_reader import trip_of_bytes
from gaswright.exchange.trip_writer import CUSTODY_TABLES, header_of, rows_of_facts, toml_text, with_names
from gaswright.services.book_acts import Act, Done, checked_person, done_before
from gaswright.services.book_opening import OpenBook
from gaswright.services.book_people import person_ids
from gaswright.services.book_plans import PLANS, plans_of_day

__all__ = ["day_text", "take_trip", "write_day"]

SHOWN_BACK = timedelta(days=1)  # before the day: its fills are often of the evening before
KEPT_FROM_FILE = ("serial", "role", "volume_ml", "working_centibar")  # what a file may not say otherwise


def take_trip(opened: OpenBook, act: Act, content: bytes, file: str) -> Done:
    """The people, cylinders, rows and plan of a trip file, in one transaction; its first fact is the plan, if any.

    Args:
        opened: the book.
        act: the request.
        content: of the file.
        file: its name, for problems.

    Raises:
        InputError: the file cannot be read, or names a witness or a filler whom nobody knows.
        Refused: the book says otherwise of a person or a cylinder, or has a history of a cylinder of its own.
    """
    if (done := done_before(opened, act)) is not None:
        return done
    checked_person(opened.book, act.by)
    trip = trip_of_bytes(content, file, opened.changes)
    _check_people(opened, trip, file)
    facts = [fact for fact in facts_of(trip) if not _registered_alike(opened, fact)]
    _check_histories(opened, facts)
    plan, notes = _plan(opened, act, trip, content, file)
    drafts, answers = _drafts(facts, len(plan), opened.zone)
    return _recorded(opened, act, trip, [*plan, *drafts], [*notes, *answers])


def _recorded(opened: OpenBook, act: Act, trip: Trip, drafts: Sequence[Draft], notes: Sequence[Note]) -> Done:
    if not drafts:
        raise InputError(f"{trip.file}: there is nothing in it that the book does not know")
    book, known = opened.book, person_ids(opened)
    book.must_be_writable()
    check_request(drafts, act.key)
    with book.write() as connection:
        for diver in trip.divers:
            if diver.id not in known:
                added_person(connection, diver.id, diver.name)
        ids, _ = appended(connection, drafts, key=act.key, request=act.request, now=opened.now, folding=book.folding)
        kept_notes(connection, notes)
    return Done(ids)


def _check_people(opened: OpenBook, trip: Trip, file: str) -> None:
    """Names agree with the book's; who filled and who watched are people, for the chain holds no free text."""
    names = person_ids(opened)
    for diver in trip.divers:
        if diver.id in names and names[diver.id] != diver.name:
            raise Refused(f"{diver.id} is {names[diver.id]} in the book and {diver.name} in {file}; people add renames")
    everybody = {*names, *(diver.id for diver in trip.divers), "unknown"}
    rows = [(f"line {row.line}, by", row.by) for row in trip.fills]
    rows += [(f"line {row.line}, witness", row.witness) for row in trip.analyses if row.witness]
    if problems := [Problem(f"{file}, {where}", f"there is no person {name!r}; people add enters one")
                    for where, name in rows if name not in everybody]:
        raise InputError(problems)


def _registered_alike(opened: OpenBook, fact: Fact) -> bool:
    """True for a register fact of a cylinder that the book has; its plan-dependent words stay in the plan.

    Raises:
        Refused: the book says otherwise of it.
    """
    if fact.kind != Kind.REGISTERED:
        return False
    stream = opened.book.stream(fact.stream)
    cylinder = fact.stream.removeprefix("register/")
    here = register(stream).get(cylinder)
    if not stream:
        return False
    for key in KEPT_FROM_FILE:
        said = getattr(here, key, None)
        if said != fact.data[key]:
            raise Refused(f"{cylinder} is registered with {key} {said}; the file says {fact.data[key]}; settle it")
    return True


def _check_histories(opened: OpenBook, facts: Sequence[Fact]) -> None:
    with_rows = {fact.stream for fact in facts if fact.stream.startswith("gas/")}
    known = sorted(name.removeprefix("gas/") for name in with_rows & set(opened.book.streams("gas/")))
    if known:
        raise Refused(f"the book has a history of {', '.join(known)} already, which the rows of the file do not know; "
                      "merge a bundle instead, or take the rows out of the file")


def _plan(
    opened: OpenBook, act: Act, trip: Trip, content: bytes, file: str
) -> tuple[list[Draft], list[Note]]:
    """The plan of a file that has a dive; it replaces what was planned for the day so far."""
    if not trip.dives:
        return [], []
    note = note_of(toml_text(header_of(content, file)))
    data: dict[str, Value] = {
        "day": trip.day.isoformat(), "dives": [dive.id for dive in trip.dives],
        "divers": [diver.id for diver in trip.planned_divers], "cylinders": [row.id for row in trip.cylinders],
        "levels": [{"dive": dive.id, "depth_cm": round(level.depth_m * 100), "seconds": round(level.minutes * 60)}
                   for dive in trip.dives for level in dive.levels],
        "text_sha256": note.hash,
    }
    stream = f"{PLANS}{trip.day.isoformat()}"
    replaced = tuple(fact.id for fact in plans_of_day(opened, trip.day) if fact.stream == stream)
    return [Draft(Kind.PLAN_MADE, stream, act.at, act.by, replaced, data=data, zone=opened.zone)], [note]


def _drafts(facts: Sequence[Fact], before: int, zone: str) -> tuple[list[Draft], list[Note]]:
    """The facts as drafts that name each other by place; whatever a fact names comes before it."""
    ordered, places, notes = _named_first(facts), {}, []
    drafts: list[Draft] = []
    for number, fact in enumerate(ordered, start=before + 1):
        places[fact.id] = f"#{number}"
        data = dict(fact.data)
        if fact.kind == Kind.ANSWERED:
            notes.append(note_of(str(data["text"])))
            data["text"] = notes[-1].hash
        drafts.append(Draft(
            fact.kind, fact.stream, fact.at, fact.by or "unknown", tuple(places[name] for name in fact.after),
            tuple(places[name] for name in fact.rests_on), data, zone,
        ))
    return drafts, notes


def _named_first(facts: Sequence[Fact]) -> list[Fact]:
    by_id, done = {fact.id: fact for fact in facts}, dict[FactId, Fact]()

    def put(fact: Fact) -> None:
        for name in (*fact.after, *fact.rests_on):
            if name in by_id and name not in done:
                put(by_id[name])
        done.setdefault(fact.id, fact)

    for fact in facts:
        put(fact)
    return list(done.values())


def write_day(opened: OpenBook, day: date, path: Path) -> None:
    """Nothing; the file tells the day, and reads back to the same standings.

    Args:
        opened: the book.
        day: of the plan.
        path: of the file; one that is there is not written over.

    Raises:
        InputError: no plan for the day, or the file cannot be written.
        Refused: a trip file cannot tell what happened to a cylinder.
    """
    text = day_text(opened, day)
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise InputError([Problem(str(path), "there is a file already; nothing was written over it")]) from error
    except OSError as error:
        what = f"cannot be written ({error.strerror}); choose another folder"
        raise InputError([Problem(str(path), what)]) from error


def day_text(opened: OpenBook, day: date) -> str:
    """A day as the text of a trip file: its plan as typed, and rows for what happened to its cylinders.

    Args:
        opened: the book.
        day: of the plan.

    Raises:
        InputError: no plan stands for the day.
        Refused: a trip file cannot tell what happened to a cylinder, or would tell it otherwise.
    """
    plans = plans_of_day(opened, day)
    text = opened.book.note(str(plans[0].data.get("text_sha256"))) if len(plans) == 1 else None
    if text is None:
        raise InputError([Problem("--day", f"not one plan stands for {day}; merge a trip file with the plan")])
    header = with_names(toml_of_text(text, "the plan"), person_ids(opened))
    cylinders = [str(name) for name in _listed(plans[0].data.get("cylinders"))]
    streams = {name: opened.book.stream(f"gas/{name}") for name in cylinders}
    told = {name: _of_day(stream, day) for name, stream in streams.items()}
    made = toml_text({**_staged(header, told), **_all_rows(opened, told)})
    _check_told(opened, made, cylinders)
    return made


def _listed(value: object) -> Sequence[object]:
    return value if isinstance(value, list) else ()


def _of_day(stream: Sequence[Fact], day: date) -> tuple[Fact, ...]:
    """The changes of the gas since the day before and the last one earlier, and whatever concerns them."""
    changes = sorted(of_kind(stream, *GAS_CHANGING), key=lambda fact: fact.at)
    start = [fact for fact in changes if fact.at.date() >= day - SHOWN_BACK]
    earlier = [fact for fact in changes if fact not in start][-1:]
    kept = {fact.id for fact in (*earlier, *start)}
    for fact in stream:  # what rests on a kept change, or on what does
        if fact.kind not in GAS_CHANGING and (not kept.isdisjoint((*fact.rests_on, *fact.after)) or not fact.rests_on):
            kept.add(fact.id)
    return tuple(fact for fact in stream if fact.id in kept)


def _staged(header: Mapping[str, object], told: Mapping[str, Sequence[Fact]]) -> dict[str, object]:
    """The header with where and by whom cylinders were left under water."""
    rows = []
    for row in _listed(header.get("cylinder")):
        one = dict(row) if isinstance(row, dict) else {}
        left = of_kind(told.get(str(one.get("id")), ()), Kind.STAGED)
        if left and "staged_at" not in one:
            depth = left[-1].data.get("place_depth_cm")
            one |= {"where": "staged", "place_depth": f"{depth / 100:.2f} m" if isinstance(depth, int) else None,
                    "staged_at": left[-1].at, "staged_by": left[-1].by, "staged_witness": left[-1].data.get("witness")}
        rows.append(one)
    return {**header, "cylinder": rows}


def _all_rows(opened: OpenBook, told: Mapping[str, Sequence[Fact]]) -> dict[str, object]:
    found: dict[str, list[dict[str, object]]] = {name: [] for name in CUSTODY_TABLES}
    for stream in told.values():
        for name, rows in rows_of_facts(stream).items():
            found[name] += rows
    for fact in opened.book.facts(opened.book.streams("answer/")):
        said = opened.book.note(str(fact.data.get("text"))) or fact.data.get("text")
        found["answer"].append({"code": fact.data.get("code"), "subject": fact.data.get("subject") or None,
                                "by": fact.by, "at": fact.at, "text": said})
    return {name: rows for name, rows in found.items() if rows}


def _check_told(opened: OpenBook, text: str, cylinders: Sequence[str]) -> None:
    """Refuses a text that would be read otherwise than the book is."""
    trip = trip_of_bytes(text.encode(), "the day", opened.changes)
    facts, now = facts_of(trip), opened.book.now(opened.now)
    for cylinder in cylinders:
        own = tuple(opened.book.facts([f"gas/{cylinder}", f"register/{cylinder}"]))
        for moment in (None, now):
            here, there = (fold(one, cylinder, opened.policy, zone=opened.zone, now=moment) for one in (own, facts))
            if _says(here) != _says(there):
                raise Refused(_otherwise(cylinder, here, there))


def _otherwise(cylinder: str, here: Standing, there: Standing) -> str:
    says = [f"{one.rung}, {one.why or 'known'}" for one in (here, there)]
    return (f"{cylinder}: a trip file would tell its history otherwise ({says[0]} here, {says[1]} there); "
            "export a bundle, which tells all")


def _says(standing: Standing) -> object:
    """What two standings must agree on: all but the ids of facts, and the time of recording, which no file tells."""
    known = standing.known
    same = None if known is None else replace(known, analysis="", fill="", expires=None)
    return (standing.rung, standing.why, same, standing.label is not None, standing.label_serial_matches,
            standing.gauge_centibar, standing.frozen, standing.staged)
