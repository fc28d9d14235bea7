"""What the rows of a trip file must agree on: ids, shares of a gas, the stop grid, dives and levels."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from gaswright.catalogue import CATALOGUE
from gaswright.exchange.trip_rows import ProblemList, Row
from gaswright.findings import Severity
from gaswright.physics.mixture import WHOLE_E4
from gaswright.units import METRE_PER_FOOT, Kind, depth_text, plain_number, shown_text

__all__ = ["TEAM", "Rows", "check_rows", "default_last_stop_m", "default_stop_step_m", "on_grid"]

TEAM = "team"
MOST_PLANNED = 6
SINGLE_DIVE = "dive"
_PEOPLE_KEYS: Mapping[str, tuple[str, ...]] = {
    "analysis": ("by",), "label": ("by",), "labels_off": ("by",), "pressure": ("by",), "answer": ("by",),
    "cylinder": ("staged_by", "staged_witness"),
}
_OF_CYLINDER = ("fill", "analysis", "label", "labels_off", "pressure", "level")


@dataclass(frozen=True, slots=True)
class Rows:
    """All rows of a file by table.

    Args:
        units: unit system of the team.
        tables: name of the table to its rows.
    """

    units: str
    tables: Mapping[str, Sequence[Row]]

    def of(self, table: str) -> Sequence[Row]:
        """The rows of a table.

        Args:
            table: its name.
        """
        return self.tables.get(table, ())

    def one(self, table: str) -> Row | None:
        """The row of a table that stands once, None if it is absent.

        Args:
            table: its name.
        """
        return next(iter(self.of(table)), None)

    def ids(self, table: str) -> dict[str, Row]:
        """The ids of a table with their first row; a misspelt id counts, so that it is named once and not at every use.

        Args:
            table: its name.
        """
        found: dict[str, Row] = {}
        for row in self.of(table):
            if isinstance(identity := row.get("id", row.raw.get("id")), str):
                found.setdefault(identity, row)
        return found


def default_stop_step_m(units: str) -> float:
    """The stop grid of a unit system: 3 m, or 10 ft [m].

    Args:
        units: "metric" or "imperial".
    """
    return 10 * METRE_PER_FOOT if units == "imperial" else 3.0


def default_last_stop_m(units: str, stop_step_m: float) -> float:
    """The last stop of a grid: its second step [m].

    Args:
        units: "metric" or "imperial".
        stop_step_m: the grid [m].
    """
    return 2 * (stop_step_m or default_stop_step_m(units))


def on_grid(depth_m: float, stop_step_m: float) -> bool:
    """True if a depth is a whole multiple of the stop grid.

    Args:
        depth_m: depth [m].
        stop_step_m: the grid, above 0 [m].
    """
    steps = depth_m / stop_step_m
    return round(steps) >= 1 and abs(steps - round(steps)) < 1e-6


def check_rows(rows: Rows, problems: ProblemList) -> None:
    """Put on the list everything on which the rows do not agree.

    Args:
        rows: of the file.
        problems: of the file.
    """
    for table in ("diver", "cylinder", "dive"):
        _repeated(rows.of(table), "id", problems)
    _repeated(rows.of("cylinder"), "serial", problems)
    _divers(rows, problems)
    _people(rows, problems)
    _cylinders(rows, problems)
    for row in rows.of("analysis"):
        _analysis(row, problems)
    for row in rows.of("answer"):
        _answer(row, problems)
    _place(rows, problems)
    _settings(rows, problems)
    _dives(rows, problems)
    _own_cases(rows, problems)


def _repeated(rows: Iterable[Row], key: str, problems: ProblemList) -> None:
    first: dict[str, Row] = {}
    for row in rows:
        if (value := row.get(key)) is None:
            continue
        if value in first:
            line = first[value].line
            problems.add(row.table, row.index, key, f"{value} is already taken{f' in line {line}' if line else ''}; "
                         f"each {key} stands for one {row.table}")
        first.setdefault(value, row)


def _unknown(row: Row, key: str, value: str, known: Iterable[str], what: str, problems: ProblemList) -> None:
    names = list(known)
    if value not in names:
        problems.add(row.table, row.index, key, f"there is no {what} {value}; {problems.nearest(value, names)}")


def _divers(rows: Rows, problems: ProblemList) -> None:
    for row in rows.of("diver"):
        if row.get("id") == TEAM:
            problems.add("diver", row.index, "id", "is team, which means all planned divers; choose another id")
        if len(row.get("initials", "")) > 4:
            length = len(row.get("initials"))
            problems.add("diver", row.index, "initials", f"has {length} characters; allowed are 1 to 4")
    planned = [row for row in rows.of("diver") if row.get("planned", True)]
    if len(planned) > MOST_PLANNED:
        problems.add("diver", planned[MOST_PLANNED].index, "", f"{len(planned)} divers are planned; allowed are 1 to "
                     f"{MOST_PLANNED}; make two trips, or give planned = false to some")
    used = [row for row in rows.of("cylinder") if TEAM in (row.get("diver"), *row.get("divers", ()))]
    if rows.of("diver") and not planned and (rows.of("level") or used):
        problems.add("diver", 0, "", f"no diver is planned; allowed are 1 to {MOST_PLANNED} where there is a level, or "
                     "a cylinder of the team")


def _people(rows: Rows, problems: ProblemList) -> None:
    divers = rows.ids("diver")
    for table, keys in _PEOPLE_KEYS.items():
        for row in rows.of(table):
            for key in keys:
                if (person := row.get(key)) is not None:
                    _unknown(row, key, person, divers, "diver", problems)
    for row in rows.of("analysis"):
        for person in row.get("accepted_by", ()):
            _unknown(row, "accepted_by", person, divers, "diver", problems)


def _cylinders(rows: Rows, problems: ProblemList) -> None:
    divers, cylinders, step_m = rows.ids("diver"), rows.ids("cylinder"), _stop_step_m(rows)
    for row in rows.of("cylinder"):
        _owners(row, divers, problems)
        _places(row, problems)
        depth_m = row.get("switch_depth")
        if depth_m is not None and step_m is not None and not on_grid(depth_m, step_m):
            problems.add("cylinder", row.index, "switch_depth", _off_grid(depth_m, step_m, rows.units))
    for table in _OF_CYLINDER:
        for row in rows.of(table):
            if (cylinder := row.get("cylinder")) is not None:
                _unknown(row, "cylinder", cylinder, cylinders, "cylinder", problems)


def _off_grid(depth_m: float, step_m: float, units: str) -> str:
    lower = max(1, int(depth_m / step_m + 1e-6)) * step_m
    near = [_depth(lower, units), _depth(lower + step_m, units)]
    return (f"is {_depth(depth_m, units)}, which is not on the stop grid of {_depth(step_m, units)}; "
            f"allowed near it are {' and '.join(near)}")


def _depth(depth_m: float, units: str) -> str:
    number = plain_number(depth_m, Kind.DEPTH, units)
    return f"{round(number, 2):g} {'ft' if units == 'imperial' else 'm'}"


def _owners(row: Row, divers: Mapping[str, Row], problems: ProblemList) -> None:
    given = [key for key in ("diver", "divers") if key in row.raw]
    if len(given) != 1:
        what = "both diver and divers are given; keep one" if given else \
            'is missing; give the id of a diver, or "team"'
        problems.add("cylinder", row.index, "diver", what)
    names = (row.get("diver"),) if "diver" in given else row.get("divers", ())
    for name in names:
        if name is not None and names != (TEAM,):
            _unknown(row, given[0], name, [*divers, TEAM] if len(names) == 1 else divers, "diver", problems)


def _places(row: Row, problems: ProblemList) -> None:
    where, has_depth = row.get("where", "carried"), "place_depth" in row.raw
    if where == "carried" and has_depth and ("where" in row.values or "where" not in row.raw):
        problems.add("cylinder", row.index, "place_depth", 'is given for a carried cylinder; add where = "staged" or '
                     '"hung", or leave it out')
    if where != "carried" and not has_depth:
        problems.add("cylinder", row.index, "place_depth", f"is missing; say at which depth it is {where}")
    staged = [key for key in ("staged_at", "staged_by", "staged_witness") if key in row.raw]
    if staged and (len(staged) < 3 or where != "staged"):
        problems.add("cylinder", row.index, staged[0], 'staged_at, staged_by and staged_witness belong together and '
                     'to where = "staged"')
    if len(staged) == 3 and row.get("staged_by") == row.get("staged_witness") is not None:
        problems.add("cylinder", row.index, "staged_witness", "is the same diver as staged_by; two names are needed")


def _analysis(row: Row, problems: ProblemList) -> None:
    o2_e4, he_e4 = row.get("o2"), row.get("he")
    if o2_e4 is not None and he_e4 is not None and o2_e4 + he_e4 > WHOLE_E4:
        problems.add("analysis", row.index, "he", f"o2 + he is {(o2_e4 + he_e4) / 100:g} %; allowed are at most 100 %; "
                     "read both again")


def _answer(row: Row, problems: ProblemList) -> None:
    code = row.get("code")
    if code is None:
        return
    asks = [name for name, entry in CATALOGUE.items() if entry.severity is Severity.ASK]
    if code not in CATALOGUE:
        hint = problems.nearest(code, asks)
        problems.add("answer", row.index, "code", f"there is no finding {shown_text(code)}; {hint}")
    elif code not in asks:
        severity = CATALOGUE[code].severity.value
        problems.add("answer", row.index, "code", f"{code} is a {severity}, not an ask: nobody's answer covers it; "
                     f"{CATALOGUE[code].mend if '{' not in CATALOGUE[code].mend else 'mend it'}")


def _place(rows: Rows, problems: ProblemList) -> None:
    place = rows.one("place")
    if place is not None and {"altitude_m", "surface_bar"} <= set(place.raw):
        problems.add("place", 0, "surface_bar", "altitude_m is given too; keep one of them")


def _stop_step_m(rows: Rows) -> float | None:
    settings = rows.one("settings")
    if settings is None or "stop_step_m" not in settings.raw:
        return default_stop_step_m(rows.units)
    step: float | None = settings.get("stop_step_m")
    return step


def _settings(rows: Rows, problems: ProblemList) -> None:
    settings = rows.one("settings")
    if settings is None:
        return
    low, high = settings.get("gf_low", 30.0), settings.get("gf_high", 80.0)
    if low > high:
        problems.add("settings", 0, "gf_low", f"is {low:g} %, above gf_high {high:g} %; give one that is not above it")
    unit_min = settings.get("stop_unit_min", 1.0)
    if unit_min != 1.0 and abs(unit_min * 60 - 1) > 0.01:
        problems.add("settings", 0, "stop_unit_min", f'is {unit_min:g} min; allowed are 1 and "1 s"')
    _grid(settings, rows.units, problems)


def _grid(settings: Row, units: str, problems: ProblemList) -> None:
    step_m = settings.get("stop_step_m", default_stop_step_m(units))
    unit_m = METRE_PER_FOOT if units == "imperial" else 1.0
    if not on_grid(step_m, unit_m):
        example = '"10 ft"' if units == "imperial" else "3"
        problems.add("settings", 0, "stop_step_m", f"is {step_m:g} m, not a whole number in the team's {units} units; "
                     f"write {example}")
        return
    last_m = settings.get("last_stop_m", default_last_stop_m(units, step_m))
    if not on_grid(last_m, step_m):
        steps = ", ".join(depth_text(n * step_m, units) for n in (1, 2))
        problems.add("settings", 0, "last_stop_m", f"is {_depth(last_m, units)}, which is not on the stop grid of "
                     f"{_depth(step_m, units)}; allowed are {steps} (with the unit, in quotes)")


def _dives(rows: Rows, problems: ProblemList) -> None:
    dives = rows.ids("dive")
    used: set[str] = set()
    for row in rows.of("level"):
        if (named := row.get("dive")) is not None:
            _unknown(row, "dive", named, dives, "dive", problems)
            used.add(named)
        elif "dive" not in row.raw and len(dives) > 1:
            names = ", ".join(dives)
            problems.add("level", row.index, "dive", f"is missing; say of which dive it is a level ({names})")
        elif dives:
            used.add(next(iter(dives)))
    for name, row in dives.items():
        if name not in used:
            problems.add("dive", row.index, "", f"{name} has no level; add a [[level]] with depth and minutes")
    if not any(found.where.split(", ")[-1].startswith(("dive", "level")) for _, found in problems.found):
        _order(rows, problems)


def _order(rows: Rows, problems: ProblemList) -> None:
    """Every dive but the first says after which it comes, and when both begin: fresh tissues would be a guess."""
    known = rows.ids("dive")
    followed = {row.get("after") for row in known.values()} - {None}
    for name, row in known.items():
        after, others = row.get("after"), [other for other in known if other != name]
        if after is None and row.index > 0:
            problems.add("dive", row.index, "after", f"is missing; say after which dive {name} comes "
                         f"({', '.join(others)}): fresh tissues would be a guess")
        elif after is not None and not after.endswith(".toml"):
            _unknown(row, "after", after, others, "other dive", problems)
        if "start" not in row.raw and (after is not None or name in followed):
            problems.add("dive", row.index, "start", "is missing; say when it starts: a dive comes before or after it")
    _circles(known, problems)


def _circles(dives: Mapping[str, Row], problems: ProblemList) -> None:
    for name, row in dives.items():
        seen, at = {name}, row.get("after")
        while at in dives and at not in seen:
            seen.add(at)
            at = dives[at].get("after")
        if at == name and row.get("after") != name:
            problems.add("dive", row.index, "after", f"{name} comes after itself ({' after '.join(sorted(seen))}); "
                         "one dive must be the first")
            return


def _own_cases(rows: Rows, problems: ProblemList) -> None:
    cylinders = rows.ids("cylinder")
    _repeated(rows.of("case"), "name", problems)
    for row in rows.of("case"):
        if not {"deeper", "longer", "delay_min", "lost"} & set(row.raw):
            problems.add("case", row.index, "", "changes nothing; give deeper, longer, delay_min or lost")
        for cylinder in row.get("lost", ()):
            _unknown(row, "lost", cylinder, cylinders, "cylinder", problems)
