"""Each kind of bad input is refused with one sentence that names place, value and range."""

from pathlib import Path

import pytest

from gaswright.errors import InputError
from gaswright.exchange.trip_reader import read_trip, trip_of_bytes
from unit.exchange.trip_texts import BASE, edited, problems_of, the_problem

WRONG = [
    # id, old, new, what the one sentence must hold
    (
        "o2 as a fraction",
        "o2 = 18.2",
        "o2 = 0.32",
        ["line 61", "analysis[1].o2", "0.32", "looks like a fraction", "write 32"],
    ),
    ("he as a fraction", "he = 44.6", "he = 0.45", ["analysis[1].he", "0.45", "write 45"]),
    ("o2 below 1 %", "o2 = 18.2", "o2 = 0", ["analysis[1].o2", "allowed are 1 to 100 %"]),
    ("o2 over 100", "o2 = 18.2", "o2 = 180.2", ["analysis[1].o2", "180.2", "allowed are 1 to 100 %"]),
    ("o2 + he over 100", "o2 = 18.2", "o2 = 58.2", ["analysis[1].he", "102.8 %", "at most 100 %"]),
    ("decimals beyond any analyser", "o2 = 18.2", "o2 = 18.2" + "0" * 40 + "1", ["analysis[1].o2", "two decimals"]),
    ("three decimals", "o2 = 18.2", "o2 = 18.205", ["analysis[1].o2", "18.205", "two decimals"]),
    ("negative depth", "depth = 60", "depth = -60", ["line 82", "level[1].depth", "-60 m", "0.5 to 300 m"]),
    ("depth 0", "depth = 60", "depth = 0", ["level[1].depth", "0.5 to 300 m"]),
    ("too deep", "depth = 60", "depth = 600", ["level[1].depth", "600 m", "0.5 to 300 m"]),
    ("NaN", "depth = 60", "depth = nan", ["level[1].depth", "NaN", "not a finite number", "0.5 to 300 m"]),
    ("infinity", "depth = 60", "depth = inf", ["level[1].depth", "Infinity", "not a finite number"]),
    ("minus infinity", "minutes = 25", "minutes = -inf", ["level[1].minutes", "not a finite number"]),
    ("a number that overflows", "depth = 60", "depth = 1e999", ["level[1].depth", "not a finite number"]),
    ("a whole number that overflows", "depth = 60", "depth = 1" + "0" * 400, ["level[1].depth", "not a finite"]),
    ("a line too long to read", "depth = 60", "depth = 0x1" + "0" * 4000, ["line 82", "4011 characters", "2000"]),
    ("bool for a number", "depth = 60", "depth = true", ["level[1].depth", "true", "where a number belongs"]),
    ("bool for a percent", "o2 = 18.2", "o2 = true", ["analysis[1].o2", "true", "1 to 100 %"]),
    (
        "bool for a whole number",
        "[[level]]",
        "[surface]\noxygen_l = 1\nride_min = 1\npersons = true\n[[level]]",
        ["surface.persons", "true", "1 to 100"],
    ),
    ("text for a number", "depth = 60", 'depth = "60"', ["level[1].depth", "'60'", "text where a number", "300 m"]),
    ("words for a number", "rmv_bottom = 18", 'rmv_bottom = "low"', ["diver[1].rmv_bottom", "'low'", "5 to 60 L/min"]),
    ("text for a percent", "o2 = 18.2", 'o2 = "18,2"', ["analysis[1].o2", "'18,2'", '"18,2 %"']),
    ("unit of another kind", "depth = 60", 'depth = "60 bar"', ["level[1].depth", "60 bar", "depth", "m", "ft"]),
    ("list for a number", "depth = 60", "depth = [60]", ["level[1].depth", "not a number"]),
    ("table for a number", "depth = 60", "depth = {m = 60}", ["level[1].depth", "not a number"]),
    ("number for a text", 'name = "Ada"', "name = 7", ["diver[1].name", "7", "in quotes"]),
    ("number for an id", "[[level]]", "[[dive]]\nid = 1\n[[level]]", ["dive[1].id", "in quotes"]),
    ("empty text", 'name = "Ada"', 'name = " "', ["diver[1].name", "1 to 200"]),
    ("control character", 'name = "Ada"', 'name = "A\\u0007da"', ["diver[1].name", "control"]),
    ("id with a space", "[[level]]", '[[dive]]\nid = "a m"\n[[level]]', ["dive[1].id", "'a m'", "1 to 32 letters"]),
    ("text for a bool", "switch_depth = 21", 'oxygen_clean = "yes"', ["cylinder[2].oxygen_clean", "true and false"]),
    ("number for a bool", "switch_depth = 21", "oxygen_clean = 1", ["cylinder[2].oxygen_clean", "true and false"]),
    (
        "unknown key",
        "volume = 24.0",
        "volume = 24.0\nvolumen = 1",
        ["line 38", "cylinder[1].volumen", "no key of this name", "nearest is volume"],
    ),
    ("unknown setting", "gf_low = 30", "gf_lo = 30", ["line 14", "settings.gf_lo", "nearest is gf_low"]),
    ("unknown table", "[[level]]", "[[levels]]\nx = 1\n[[level]]", ["line 81, levels", "nearest is level"]),
    ("unknown top key", 'units = "metric"', 'unit = "metric"', ["unit", "no table or key", "nearest is units"]),
    ("table written as array", "[place]", "[[place]]", ["place", "[place]"]),
    ("array written as table", "[[level]]", "[level]", ["level", "[[level]]"]),
    ("number for a table", 'units = "metric"', 'units = "metric"\nsurface = 5', ["line 2", "surface", "[surface]"]),
    (
        "repeated diver id",
        "[[level]]",
        ('[[diver]]\nid = "d1"\nname = "Cy"\ninitials = "CY"\nrmv_bottom = 18\nrmv_deco = 15\n[[level]]'),
        ["line 82", "diver[3].id", "d1 is already taken in line 17"],
    ),
    (
        "repeated cylinder id",
        "[[level]]",
        (
            '[[cylinder]]\nid = "c2"\nserial = "x"\ndiver = "d2"\nrole = "deco"\n'
            "volume = 80\nworking_pressure = 3000\n[[level]]"
        ),
        ["cylinder[3].id", "c2 is already taken in line 41"],
    ),
    ("repeated dive id", "[[level]]", '[[dive]]\nid = "am"\n[[dive]]\nid = "am"\n[[level]]', ["dive[2].id", "am is"]),
    ("repeated serial", "SP-0815", "SP-4711", ["cylinder[2].serial", "SP-4711 is already taken"]),
    (
        "unknown cylinder",
        'cylinder = "c1"\no2',
        'cylinder = "c9"\no2',
        ["analysis[1].cylinder", "no cylinder c9"],
    ),
    ("unknown diver", 'diver = "d2"', 'diver = "d3"', ["cylinder[2].diver", "no diver d3", "d2 or d1"]),
    ("unknown analyst", 'by = "d2"', 'by = "dd2"', ["analysis[2].by", "no diver dd2", "nearest is d2"]),
    ("unknown acceptor", 'by = "d2"', 'by = "d2"\naccepted_by = ["d1", "d4"]', ["analysis[2].accepted_by", "d4"]),
    ("unknown role", 'role = "main"', 'role = "mains"', ["cylinder[1].role", "'mains'", "main, stage, travel, deco"]),
    ("unknown units", 'units = "metric"', 'units = "si"', ["units", "'si'", "metric, imperial"]),
    ("bad target", 'target = "50"', 'target = "EAN"', ["cylinder[2].target", "'EAN'", "write air, oxygen, 32"]),
    ("target over the whole", 'target = "50"', 'target = "50/60"', ["cylinder[2].target", "110 %", "100 %"]),
    ("target as a fraction", 'target = "50"', 'target = "0.5"', ["cylinder[2].target", "write 50"]),
    ("missing key", "temperature_c = 8\n", "", ["place.temperature_c", "is missing"]),
    ("missing row key", 'by = "d1"\n\n[[analysis]]', "\n[[analysis]]", ["analysis[1].by", "is missing"]),
    ("missing diver of a cylinder", 'diver = "d1"\n', "", ["cylinder[1].diver: is missing", '"team"']),
    ("diver and divers", 'diver = "d1"\n', 'diver = "d1"\ndivers = ["d2"]\n', ["cylinder[1].diver", "keep one"]),
    ("unknown time zone", "Europe/Vienna", "Europe/Atlantis", ["trip.timezone", "Atlantis", "IANA"]),
    ("time zone that is a folder", "Europe/Vienna", "Europe", ["trip.timezone", "IANA"]),
    ("time zone that is a path", "Europe/Vienna", "../../etc/passwd", ["trip.timezone", "IANA"]),
    ("date for a time", "at = 2027-05-14T07:40:00", "at = 2027-05-14", ["analysis[1].at", "a date and a time"]),
    ("text for a time", "at = 2027-05-14T07:40:00", 'at = "early"', ["analysis[1].at", "a date and a time"]),
    (
        "time of another age",
        "at = 2027-05-14T07:40:00",
        "at = 0001-01-01T00:00:00+14:00",
        ["analysis[1].at", "1970 to 2200"],
    ),
    ("bad date", "date = 2027-05-14", 'date = "14.5.2027"', ["trip.date", "2027-05-14"]),
    (
        "time that comes twice",
        "at = 2027-05-14T07:40:00",
        "at = 2027-10-31T02:30:00",
        ["analysis[1].at", "comes twice", "Europe/Vienna", "offset", "02:30:00+02:00"],
    ),
    (
        "time that does not exist",
        "at = 2027-05-14T07:40:00",
        'at = "2027-03-28T02:30:00"',
        ["analysis[1].at", "does not exist", "offset"],
    ),
    (
        "switch off the grid",
        "switch_depth = 21",
        "switch_depth = 20",
        ["cylinder[2].switch_depth", "20 m", "stop grid of 3 m", "18 m and 21 m"],
    ),
    (
        "switch in the other unit",
        "switch_depth = 21",
        'switch_depth = "70 ft"',
        ["switch_depth", "not on the stop"],
    ),
    ("last stop off the grid", "gf_low = 30", "last_stop_m = 5", ["settings.last_stop_m", "5 m", "3 m, 6 m"]),
    ("gradient factors crossed", "gf_low = 30", "gf_low = 80", ["settings.gf_low", "80 %", "75 %"]),
    ("gradient factor as a fraction", "gf_low = 30", "gf_low = 0.3", ["settings.gf_low", "5 to 100 %", "write 30"]),
    ("unit of a stop", "gf_low = 30", "stop_unit_min = 0.5", ["settings.stop_unit_min", "0.5", "1 s"]),
    (
        "zones without the surface",
        "gf_low = 30",
        "ascent_m_min = [{from_m = 9, m_min = 9}]",
        ["settings.ascent_m_min", "from_m = 0"],
    ),
    ("zone with a wrong key", "gf_low = 30", "ascent_m_min = [{from = 0, m_min = 9}]", ["ascent_m_min", "from_m = 21"]),
    ("unknown case", "gf_low = 30", 'cases = ["deepest"]', ["settings.cases", "'deepest'", "deeper, longer, lost-gas"]),
    ("policy past its cap", "gf_low = 30", "ppo2_deco_ata = 1.7", ["settings.ppo2_deco_ata", "hard cap", "1.65 ata"]),
    (
        "policy not a number",
        "gf_low = 30",
        "end_limit_m = true",
        ["settings.end_limit_m", "10 to 60 m"],
    ),
    ("policy NaN", "gf_low = 30", "end_limit_m = nan", ["settings.end_limit_m", "not a number"]),
    ("altitude and pressure", "altitude_m = 410", "altitude_m = 410\nsurface_bar = 0.96", ["surface_bar", "keep one"]),
    ("altitude too high", "altitude_m = 410", "altitude_m = 9000", ["place.altitude_m", "9000 m", "-430 to 5000 m"]),
    (
        "unknown water",
        'water = "fresh"',
        'water = "mud"',
        ["place.water", "'mud'", "en13319, salt, fresh", "1040"],
    ),
    ("too dense water", 'water = "fresh"', "water = 1100", ["place.water", "1100", "990 to 1040 kg/m3"]),
    ("psi read as bar", "pressure = 228", "pressure = 3300", ["analysis[1].pressure", "3300 bar", "0 to 310 bar"]),
    ("pressure in psi too high", "pressure = 2900", "pressure = 29000", ["analysis[2].pressure", "29000 psi", "psi"]),
    (
        "capacity not of this world",
        "volume = 80",
        "volume = 8000",
        ["cylinder[2].volume", "8000", "water volume", "0.3 to 120 L"],
    ),
    ("thousands or decimals", "pressure = 2900", 'pressure = "2,900 psi"', ["analysis[2].pressure", "2900", "2.900"]),
    ("place depth of a carried one", "switch_depth = 21", "place_depth = 21", ["place_depth", "carried"]),
    ("staged nowhere", "switch_depth = 21", 'where = "staged"', ["cylinder[2].place_depth", "missing", "staged"]),
    (
        "staged without a witness",
        "switch_depth = 21",
        'where = "staged"\nplace_depth = 21\nstaged_at = 2027-05-14T08:00:00\nstaged_by = "d1"',
        ["cylinder[2].staged_at", "staged_witness"],
    ),
    (
        "staged with one name",
        "switch_depth = 21",
        (
            'where = "staged"\nplace_depth = 21\nstaged_at = 2027-05-14T08:00:00\n'
            'staged_by = "d1"\nstaged_witness = "d1"'
        ),
        ["cylinder[2].staged_witness", "two names"],
    ),
    (
        "mark without unit",
        'permanent_mark = "70 ft"',
        'permanent_mark = "70"',
        ["permanent_mark", "where a number"],
    ),
    ("level of no dive", "minutes = 25", 'minutes = 25\ndive = "am"', ["level[1].dive", "no dive am"]),
    (
        "dive without level",
        "[[level]]",
        '[[dive]]\nid = "pm"\n[[dive]]\nid = "am"\n[[level]]\ndive = "am"',
        ["dive[1]", "pm has no level"],
    ),
    ("unknown cylinder of a level", "minutes = 25", 'minutes = 25\ncylinder = "c7"', ["level[1].cylinder", "c7"]),
    (
        "answer to nothing",
        "[[level]]",
        ('[[answer]]\ncode = "narcosis.ned"\nby = "d1"\nat = 2027-05-14T08:00:00\ntext = "known"\n[[level]]'),
        ["answer[1].code", "no finding", "narcosis.end"],
    ),
    (
        "answer to a stop",
        "[[level]]",
        ('[[answer]]\ncode = "gas.filled_since"\nby = "d1"\nat = 2027-05-14T08:00:00\ntext = "known"\n[[level]]'),
        ["answer[1].code", "is a stop", "analyse it again"],
    ),
    ("long initials", 'initials = "AD"', 'initials = "ADAMANT"', ["diver[1].initials", "7", "1 to 4"]),
    ("emergency not a text", "[[level]]", "[emergency]\ncall = 112\n[[level]]", ["emergency.call", "112", "in quotes"]),
]


@pytest.mark.parametrize(("old", "new", "holds"), [case[1:] for case in WRONG], ids=[case[0] for case in WRONG])
def test_one_wrong_value_gives_one_sentence(old: str, new: str, holds: list[str]) -> None:
    """A file with one wrong value is refused with one sentence naming file, place, value and what is allowed."""
    sentence = the_problem(edited((old, new)))
    assert sentence.startswith("pit.toml, ")
    assert "\n" not in sentence
    for part in holds:
        assert part in sentence, sentence


def test_the_valid_file_has_no_problem() -> None:
    """The file that the other tests break is read as it is."""
    assert problems_of(BASE) == ()


def test_a_diver_called_team_is_refused() -> None:
    """The word team means all planned divers and is no diver's id."""
    text = edited(
        ('id = "d2"\nname', 'id = "team"\nname'),
        ('diver = "d2"', 'diver = "d1"'),
        ('by = "d2"', 'by = "d1"'),
        ("volume = 80", "volume = 11"),
        ("working_pressure = 3000", "working_pressure = 207"),
        ("pressure = 2900", "pressure = 200"),
    )
    assert "diver[2].id: is team" in the_problem(text)


def test_all_problems_are_named_at_once_and_in_file_order() -> None:
    """Every problem of a file is reported together, by line."""
    text = edited(
        ("gf_low = 30", "gf_lo = 30"),
        ('role = "main"', 'role = "mane"'),
        ("o2 = 18.2", "o2 = 0.18"),
        ('by = "d2"', 'by = "nobody"'),
        ("depth = 60", "depth = -1"),
        ("minutes = 25", "minutes = true"),
    )
    places = [problem.where.split(", ")[-1] for problem in problems_of(text)]
    assert places == [
        "settings.gf_lo",
        "cylinder[1].role",
        "analysis[1].o2",
        "analysis[2].by",
        "level[1].depth",
        "level[1].minutes",
    ]


def test_seven_planned_divers_are_refused() -> None:
    """At most six divers are in one schedule."""
    more = "".join(
        f'[[diver]]\nid = "x{n}"\nname = "X"\ninitials = "X{n}"\nrmv_bottom = 18\nrmv_deco = 15\n' for n in range(5)
    )
    assert "7 divers are planned; allowed are 1 to 6" in the_problem(BASE + more)
    assert problems_of(BASE + more.replace("rmv_deco = 15", "rmv_deco = 15\nplanned = false", 1)) == ()


def test_a_dive_without_a_planned_diver_is_refused() -> None:
    """A level needs somebody who is planned."""
    text = BASE.replace("rmv_deco = 15", "rmv_deco = 15\nplanned = false")
    assert "no diver is planned" in the_problem(text)


def test_two_dives_need_the_dive_of_each_level() -> None:
    """With several dives a level says which one it belongs to."""
    text = edited(
        (
            "[[level]]",
            ('[[dive]]\nid = "am"\n[[dive]]\nid = "pm"\n[[level]]\ndive = "pm"\ndepth = 20\nminutes = 10\n[[level]]'),
        )
    )
    places = [str(problem) for problem in problems_of(text)]
    assert any("level[2].dive: is missing" in place for place in places)


def test_plain_pressures_of_a_cylinder_shared_by_two_systems_are_refused() -> None:
    """A plain number whose divers read different units has two readings: it is asked for with its unit."""
    text = edited(('diver = "d1"\nrole', 'divers = ["d1", "d2"]\nrole'))
    places = {problem.where.split(", ")[-1]: problem.what for problem in problems_of(text)}
    assert set(places) == {
        "cylinder[1].volume",
        "cylinder[1].working_pressure",
        "fill[1].pressure",
        "analysis[1].pressure",
    }
    assert 'write it with its unit, "232 bar" or "232 psi"' in places["cylinder[1].working_pressure"]


def test_a_file_of_ten_megabytes_is_refused_before_it_is_read(tmp_path: Path) -> None:
    """A file over 2 MiB gets one sentence with its size and the limit."""
    path = tmp_path / "big.toml"
    path.write_bytes(b"# padding\n" * 1_000_000)
    with pytest.raises(InputError) as caught:
        read_trip(path)
    assert str(caught.value) == "big.toml: this file has 10.0 MB; allowed are at most 2 MiB (2.1 MB)"


def test_a_missing_file_a_folder_and_a_text_that_is_not_utf8_are_named(tmp_path: Path) -> None:
    """What cannot be opened or decoded is one sentence, not an OSError."""
    for path, part in (
        (tmp_path / "none.toml", "no such file"),
        (tmp_path, "a folder"),
        (tmp_path / "a\0b", "cannot be read"),
        (tmp_path / ("x" * 5000), "cannot be read"),
    ):
        with pytest.raises(InputError) as caught:
            read_trip(path)
        assert part in str(caught.value)
    path = tmp_path / "latin.toml"
    path.write_bytes(b'units = "metric"\nname = "caf\xe9"\n')
    with pytest.raises(InputError) as caught:
        read_trip(path)
    assert str(caught.value) == "latin.toml, line 2: this file is not UTF-8 text; save it as UTF-8"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("units = \n", 1),
        ('units = "metric"\n[trip\n', 2),
        ("a = 1\na = 2\n", 2),
        ("a = [1,\n", 2),
        ("a = 1 b = 2", 1),
        ("a = 18,2\n", 1),
    ],
)
def test_broken_toml_is_named_with_its_line(text: str, line: int) -> None:
    """A file that is not TOML is refused with the line at which it breaks."""
    sentence = the_problem(text)
    assert f"line {line}: this is not TOML" in sentence or f"line {line + 1}: this is not TOML" in sentence


@pytest.mark.parametrize("text", ["a = " + "[" * 20_000, "a = 1" + "0" * 5000, "a" + ".b" * 3000 + " = 1"])
def test_hostile_toml_is_refused_in_one_sentence(text: str) -> None:
    """Nesting and numbers beyond the parser's limits are bad input, not a crash."""
    assert problems_of(text)


@pytest.mark.parametrize("text", [
    "[a" + " " * 1_000_000 + "\n", '"' + "a" * 1_000_000 + '"', "a" + " " * 1_000_000 + "\n[", "a.b" * 200_000,
    "".join(f"a{n}" + ".b" * 990 + " = 1\n" for n in range(1000)),
    "\n".join(f"k{n} = 1" for n in range(50_000)),
    BASE + "".join(f'[[pressure]]\ncylinder = "c{n}"\nby = "x{n}"\nat = 2027-05-14\nbar = -1\n' for n in range(20_000)),
], ids=["long header", "long text", "long key", "dotted key", "dotted keys", "many keys", "many rows"])
def test_a_large_hostile_file_is_refused(text: str) -> None:
    """Up to 2 MiB of anything is refused; what would take minutes to judge is not judged."""
    assert problems_of(text)


def test_more_than_a_thousand_rows_are_refused() -> None:
    """A table has at most 1000 rows; the sentence says how many there are."""
    rows = '[[pressure]]\ncylinder = "c1"\nby = "d1"\nat = 2027-05-14T09:00:00\nbar = 100\n' * 1001
    assert "pressure[1001]: has 1001 rows; allowed are at most 1000" in the_problem(BASE + rows)


def test_a_team_cylinder_without_a_planned_diver_is_refused() -> None:
    """Team means all planned divers, so there must be one."""
    text = edited(("[[level]]\ndepth = 60\nminutes = 25\n", ""), ('diver = "d1"\nrole', 'diver = "team"\nrole'))
    assert problems_of(text) == ()
    nobody = text.replace("rmv_deco = 15", "rmv_deco = 15\nplanned = false")
    assert "no diver is planned" in the_problem(nobody)


def test_problems_of_the_policy_file_come_with_those_of_the_trip(tmp_path: Path) -> None:
    """Both files are judged in one go."""
    trip, policy = tmp_path / "pit.toml", tmp_path / "mine.toml"
    trip.write_text(edited(("depth = 60", "depth = -60")), encoding="utf-8")
    policy.write_text("end_limit_m = 99\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_trip(trip, policy)
    assert [problem.where for problem in caught.value.problems] == [
        "pit.toml, line 82, level[1].depth", "mine.toml, line 1, end_limit_m"
    ]  # fmt: skip
    trip.write_text(BASE, encoding="utf-8")
    with pytest.raises(InputError, match=r"mine\.toml, line 1, end_limit_m"):
        read_trip(trip, policy)


def test_an_empty_file_names_every_missing_table() -> None:
    """An empty file is told which tables it needs."""
    assert [problem.what for problem in problems_of("")][2:] == [
        "is missing; write a [[diver]] table", "is missing; write a [[cylinder]] table",
    ]  # fmt: skip
    places = [problem.where for problem in problems_of("")]
    assert places == ["pit.toml, trip", "pit.toml, place", "pit.toml, diver[1]", "pit.toml, cylinder[1]"]


def test_bytes_of_a_trip_may_begin_with_a_byte_order_mark_and_end_lines_in_any_way() -> None:
    """An editor's byte order mark and CRLF line ends do not matter; lines are counted alike."""
    content = b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode()
    assert trip_of_bytes(content, "pit.toml").name == "Slate pit"
    broken = b"\xef\xbb\xbf" + edited(("depth = 60", "depth = -60")).replace("\n", "\r\n").encode()
    with pytest.raises(InputError, match="line 82"):
        trip_of_bytes(broken, "pit.toml")
