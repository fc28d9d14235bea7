"""A small valid trip file for the tests, and what the reader says of it when a piece is changed."""

from gaswright.errors import InputError, Problem
from gaswright.exchange.trip import Trip
from gaswright.exchange.trip_reader import trip_of_bytes

__all__ = ["BASE", "edited", "problems_of", "the_problem", "trip_of"]

BASE = """\
units = "metric"

[trip]
name = "Slate pit"
date = 2027-05-14
timezone = "Europe/Vienna"

[place]
altitude_m = 410
water = "fresh"
temperature_c = 8

[settings]
gf_low = 30
gf_high = 75

[[diver]]
id = "d1"
name = "Ada"
initials = "AD"
rmv_bottom = 18
rmv_deco = 15

[[diver]]
id = "d2"
name = "Bo"
initials = "BO"
units = "imperial"
rmv_bottom = 17
rmv_deco = 15

[[cylinder]]
id = "c1"
serial = "SP-4711"
diver = "d1"
role = "main"
volume = 24.0
working_pressure = 232
target = "18/45"

[[cylinder]]
id = "c2"
serial = "SP-0815"
diver = "d2"
role = "deco"
volume = 80
working_pressure = 3000
target = "50"
switch_depth = 21
permanent_mark = "70 ft"

[[fill]]
cylinder = "c1"
at = 2027-05-13T18:00:00
by = "the blender"
pressure = 230
target = "18/45"

[[analysis]]
cylinder = "c1"
o2 = 18.2
he = 44.6
pressure = 228
temperature = 16
at = 2027-05-14T07:40:00
by = "d1"

[[analysis]]
cylinder = "c2"
o2 = 50.60
pressure = 2900
at = 2027-05-14T07:50:00
by = "d2"

[[label]]
cylinder = "c1"
at = 2027-05-14T08:00:00
by = "d1"
serial_read = "4711"

[[level]]
depth = 60
minutes = 25
"""


def edited(*changes: tuple[str, str]) -> str:
    """The valid file with pieces replaced, each of which must stand in it."""
    text = BASE
    for old, new in changes:
        assert old in text, f"{old!r} is not in the file"
        text = text.replace(old, new, 1)
    return text


def trip_of(text: str) -> Trip:
    """The trip that a text says."""
    return trip_of_bytes(text.encode(), "pit.toml")


def problems_of(text: str) -> tuple[Problem, ...]:
    """The problems of a text; none if it is read."""
    try:
        trip_of(text)
    except InputError as error:
        return error.problems
    return ()


def the_problem(text: str) -> str:
    """The only problem of a text, with its place."""
    problems = problems_of(text)
    assert len(problems) == 1, f"{len(problems)} problems: {[str(problem) for problem in problems]}"
    return str(problems[0])
