"""What a trip file says is read in the right unit, zone and default."""

import hashlib
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from check import close
from gaswright.exchange.trip import Surface, Where
from gaswright.exchange.trip_reader import read_trip, trip_of_bytes
from gaswright.physics.mixture import AIR, Mixture
from gaswright.physics.place import ATM_BAR
from gaswright.planning.dive import Rig, Role, Settings, UnitSystem, Usable
from unit.exchange.trip_texts import BASE, edited, trip_of


def test_the_trip_place_and_divers_are_read() -> None:
    """Name, date, zone, place and divers are as written, with the defaults of the contract."""
    trip = trip_of(BASE)
    assert (trip.name, trip.day, trip.zone, trip.units) == (
        "Slate pit", date(2027, 5, 14), "Europe/Vienna", UnitSystem.METRIC
    )  # fmt: skip
    # ISO 2533: 1.01325 (1 - 0.0065 410 / 288.15)^5.25588
    close(trip.place.surface_bar, 1.01325 * (1 - 0.0065 * 410 / 288.15) ** 5.25588, within=1e-6)
    close(trip.place.bar_per_m, 1000 * 9.80665 / 1e5, within=1e-9)
    close(trip.place.water_temperature_k or 0.0, 281.15, within=1e-9)
    close(trip.place.saturated_bar, ATM_BAR, within=0.0, why="just arrived from sea level is the default")
    ada = trip.diver("d1")
    assert (ada.rig, ada.units, ada.planned, ada.max_depth_m, ada.helium) == (
        Rig.DOUBLES, UnitSystem.METRIC, True, None, None
    )  # fmt: skip
    close(ada.rmv_stressed_l_min, 30.0, within=0.0)


def test_a_diver_in_psi_reads_pressures_and_capacity_but_not_depths() -> None:
    """Plain numbers of an imperial diver's cylinder are psi and cu ft; its depths and rates are the team's."""
    trip = trip_of(BASE)
    deco = trip.cylinder("c2")
    close(deco.volume_l, 11.1, within=0.05, why="an 80 cu ft cylinder at 3000 psi (common practice, no source)")
    close(deco.working_pressure_bar, 206.84, within=0.01)
    close(deco.switch_depth_m or 0.0, 21.0, within=0.0)
    close(trip.analyses[1].gauge_bar or 0.0, 199.95, within=0.01)
    close(trip.diver("d2").rmv_bottom_l_min, 17.0, within=0.0)
    close(trip.analyses[0].gauge_bar or 0.0, 228.0, within=0.0)
    close(trip.analyses[0].temperature_k or 0.0, 289.15, within=1e-9)


def test_units_in_texts_win_everywhere() -> None:
    """A text with a unit is read as such in any row, with comma or point."""
    trip = trip_of(edited(
        ("depth = 60", 'depth = "200 ft"'), ("pressure = 228", 'pressure = "3307 psi"'),
        ("temperature = 16", 'temperature = "60,8 F"'), ("rmv_bottom = 18", 'rmv_bottom = "0.75 cu ft/min"'),
        ("temperature_c = 8", 'temperature_c = "46.4 F"'), ("altitude_m = 410", 'altitude_m = "1345 ft"'),
        ("pressure = 2900", 'pressure = "200,5 bar"'), ("volume = 80", 'volume = "11,1 L"'),
        ("o2 = 18.2", 'o2 = "18,2 %"'),
    ))  # fmt: skip
    close(trip.dives[0].levels[0].depth_m, 60.96, within=1e-9)
    close(trip.analyses[0].gauge_bar or 0.0, 228.01, within=0.01)
    close(trip.analyses[0].temperature_k or 0.0, 289.15, within=1e-6)
    close(trip.diver("d1").rmv_bottom_l_min, 21.24, within=0.01)
    close(trip.place.water_temperature_k or 0.0, 281.15, within=1e-6)
    close(trip.analyses[1].gauge_bar or 0.0, 200.5, within=0.0)
    close(trip.cylinder("c2").volume_l, 11.1, within=1e-12)
    assert trip.analyses[0].o2_e4 == 1820


def test_an_imperial_team_reads_feet_and_has_a_ten_foot_grid() -> None:
    """With units imperial plain depths are feet and the grid, last stop and the deeper case are 10, 20 and 10 ft."""
    trip = trip_of(edited(
        ('units = "metric"', 'units = "imperial"'), ("depth = 60", "depth = 200"),
        ("switch_depth = 21", "switch_depth = 70"), ("rmv_bottom = 18", "rmv_bottom = 0.64"),
        ("rmv_deco = 15", "rmv_deco = 0.53"), ("rmv_bottom = 17", "rmv_bottom = 0.6"),
        ("rmv_deco = 15", "rmv_deco = 0.53"), ("volume = 24.0", "volume = 190"),
        ("working_pressure = 232", "working_pressure = 3365"), ("pressure = 230", "pressure = 3300"),
        ("pressure = 228", "pressure = 3300"), ("temperature = 16", "temperature = 61"),
    ))  # fmt: skip
    close(trip.dives[0].levels[0].depth_m, 60.96, within=1e-9)
    close(trip.settings.stop_step_m, 3.048, within=1e-12)
    close(trip.settings.last_stop_m, 6.096, within=1e-12)
    close(trip.settings.deeper_m, 3.048, within=1e-12)
    close(trip.cylinder("c2").switch_depth_m or 0.0, 21.336, within=1e-9)
    close(trip.cylinder("c1").volume_l, 190 * 28.3168 * 1.01325 / (3365 * 0.0689476), within=0.01)
    close(trip.diver("d1").rmv_bottom_l_min, 0.64 * 28.3168, within=0.001)
    close(trip.analyses[0].temperature_k or 0.0, 289.26, within=0.01)
    assert trip.diver("d1").units is UnitSystem.IMPERIAL


def test_settings_absent_are_the_contracts() -> None:
    """A file without [settings] plans with the defaults of the contract."""
    trip = trip_of(edited(("[settings]\ngf_low = 30\ngf_high = 75\n", "")))
    assert trip.settings == Settings()
    assert trip.policy.loosened == ()


def test_every_setting_is_read() -> None:
    """Each key of [settings] reaches the plan's settings in its canonical unit."""
    trip = trip_of(edited(("gf_low = 30\ngf_high = 75", """\
gf_low = 20
gf_high = 85
descent_m_min = 15
ascent_m_min = [{from_m = 21, m_min = 9}, {from_m = 0, m_min = 3}]
stop_step_m = 3
last_stop_m = 3
stop_unit_min = "1 s"
switch_min = 0
oxygen_breaks = true
cases = ["longer"]
deeper = "10 ft"
longer = 7
usable = "half"
solve_min = 2
unusable_bar = 15""")))
    zones = [(zone.from_m, zone.m_min) for zone in trip.settings.zones]
    assert zones == [(21.0, 9.0), (0.0, 3.0)]
    close(trip.settings.deeper_m, 3.048, within=1e-12)
    close(trip.settings.stop_unit_min, 1 / 60, within=1e-12)
    assert replace(trip.settings, zones=(), deeper_m=3.0, stop_unit_min=1.0) == Settings(
        gf_low=20, gf_high=85, descent_m_min=15, last_stop_m=3, switch_min=0, oxygen_breaks=True, cases=("longer",),
        longer_min=7, usable=Usable.HALF, solve_min=2, unusable_bar=15,
    )
    assert trip_of(edited(("gf_low = 30", "ascent_m_min = 6"))).settings.ascent_m_min == 6.0


def test_policy_settings_of_a_trip_tighten_or_are_remembered_as_loosened(tmp_path: Path) -> None:
    """A tighter policy value is used, a looser one is used and named; the trip goes before the user's file."""
    tight = trip_of(edited(("gf_low = 30", "ppo2_deco_ata = 1.5")))
    close(tight.policy.ppo2_deco_ata, 1.5, within=0.0)
    assert tight.policy.loosened == ()
    loose = trip_of(edited(("gf_low = 30", "end_limit_m = 40")))
    assert loose.policy.loosened == ("end_limit_m",)
    path, policy = tmp_path / "pit.toml", tmp_path / "mine.toml"
    path.write_text(edited(("gf_low = 30", "ppo2_deco_ata = 1.5")), encoding="utf-8")
    policy.write_text("ppo2_deco_ata = 1.4\nu_o2_percent.value = 0.8\n", encoding="utf-8")
    both = read_trip(path, policy)
    close(both.policy.ppo2_deco_ata, 1.5, within=0.0)
    assert both.analyses[0].u_o2_e4 == 80


def test_times_are_utc_and_local_ones_are_the_trips() -> None:
    """A time without offset is local to the trip's zone (CEST in May), one with an offset is as it says."""
    trip = trip_of(edited(("at = 2027-05-14T07:40:00", 'at = "2027-05-14T07:40:00+05:45"'), (
        "at = 2027-05-14T07:50:00", 'at = "2027-05-14 07:50"')))
    assert trip.analyses[0].at == datetime(2027, 5, 14, 1, 55, tzinfo=UTC)
    assert trip.analyses[1].at == datetime(2027, 5, 14, 5, 50, tzinfo=UTC)
    assert trip.fills[0].at == datetime(2027, 5, 13, 16, 0, tzinfo=UTC)
    written = trip_of(edited(("at = 2027-05-14T07:40:00", "at = 2027-10-31T02:30:00+02:00")))
    assert written.analyses[0].at == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize(("target", "fill_target", "he", "he_e4"), [
    ('target = "18/45"', 'target = "18/45"', "he = 44.6", 4460),
    ('target = "18/45"', 'target = "18/45"', "", None),
    ('target = "32"', 'target = "32"', "", 0),
    ('target = "32"', "", "", 0),
    ("", 'target = "32"', "", 0),
    ('target = "32"', 'target = "18/45"', "", None),
    ('target = "18/45"', 'target = "32"', "", None),
    ("", "", "", None),
    ("", "", "he = 0", 0),
])  # fmt: skip
def test_helium_not_read_is_zero_only_where_every_target_has_none(
    target: str, fill_target: str, he: str, he_e4: int | None
) -> None:
    """An absent helium reading is 0 where the targets have none, else not measured; without a target not measured."""
    text = edited(('target = "18/45"', "#"), ('target = "18/45"', fill_target), ("he = 44.6", he))
    assert trip_of(text.replace("#", target)).analyses[0].he_e4 == he_e4


def test_readings_are_kept_as_typed() -> None:
    """The text of a reading stays as written, trailing zero included."""
    first, second = trip_of(BASE).analyses
    assert (first.typed_o2, first.typed_he) == ("18.2", "44.6")
    assert (second.typed_o2, second.typed_he, second.he_e4) == ("50.60", "", 0)
    assert (first.u_o2_e4, first.u_he_e4) == (50, 100)


def test_an_analyser_record_gives_its_own_uncertainty() -> None:
    """uncertainty_o2 and uncertainty_he replace the policy's."""
    row = trip_of(edited(("he = 44.6", "he = 44.6\nuncertainty_o2 = 0.3\nuncertainty_he = 0.75"))).analyses[0]
    assert (row.u_o2_e4, row.u_he_e4) == (30, 75)


def test_cylinders_carry_all_that_is_written() -> None:
    """Every key of a cylinder is read; what is absent is not guessed."""
    text = edited(('target = "18/45"', """\
target = "18/45"
pair = "d1-mains"
isolator = "shut"
where = "hung"
place_depth = 6
leave_depth = 30
oxygen_clean = true
tested_until = 2028-05-01
visual_until = "2027-12-01"
permanent_mark = 21"""))
    row, bare = trip_of(text).cylinder("c1"), trip_of(BASE).cylinder("c1")
    assert (row.pair, row.isolator_open, row.where, row.place_depth_m, row.leave_depth_m) == (
        "d1-mains", False, Where.HUNG, 6.0, 30.0
    )  # fmt: skip
    assert (row.oxygen_clean, row.tested_until, row.visual_until, row.permanent_mark) == (
        True, date(2028, 5, 1), date(2027, 12, 1), "21 m"
    )  # fmt: skip
    assert (bare.pair, bare.isolator_open, bare.where, bare.oxygen_clean, bare.tested_until, bare.permanent_mark) == (
        None, None, Where.CARRIED, False, None, None
    )  # fmt: skip
    assert (bare.role, bare.target, trip_of(BASE).cylinder("c2").permanent_mark) == (
        Role.MAIN, Mixture(1800, 4500), "70 ft"
    )  # fmt: skip


def test_team_is_every_planned_diver_and_reads_the_teams_units() -> None:
    """A team cylinder names all planned divers; its plain numbers are the team's."""
    text = edited(("rmv_deco = 15\n\n[[cylinder]]", "rmv_deco = 15\nplanned = false\n\n[[cylinder]]"),
                  ('diver = "d2"', 'diver = "team"'), ("volume = 80", "volume = 11.1"),
                  ("working_pressure = 3000", "working_pressure = 207"), ("pressure = 2900", "pressure = 200"))
    trip = trip_of(text)
    assert (trip.cylinder("c2").divers, trip.cylinder("c2").team) == (("d1",), True)
    close(trip.cylinder("c2").volume_l, 11.1, within=0.0)
    assert [diver.id for diver in trip.planned_divers] == ["d1"]
    shared = trip_of(edited(('units = "imperial"\n', ""), ('diver = "d1"\nrole', 'divers = ["d2", "d1"]\nrole'),
                            ("volume = 80", "volume = 11.1"), ("working_pressure = 3000", "working_pressure = 207"),
                            ("pressure = 2900", "pressure = 200")))
    assert shared.cylinder("c1").divers == ("d2", "d1")


def test_a_file_without_levels_has_no_dive() -> None:
    """A trip may be custody only."""
    assert trip_of(edited(("[[level]]\ndepth = 60\nminutes = 25\n", ""))).dives == ()


def test_levels_are_one_dive_or_those_of_the_named_dives() -> None:
    """Without [[dive]] the levels are one dive; with them each level goes to its own, in order."""
    (only,) = trip_of(BASE).dives
    assert (only.start, only.after, [level.depth_m for level in only.levels]) == (None, None, [60.0])
    text = edited(("[[level]]", """\
[[dive]]
id = "am"
start = 2027-05-14T10:00:00
[[dive]]
id = "pm"
start = 2027-05-14T14:00:00
after = "am"
[[level]]
dive = "pm"
depth = 20
minutes = 30
overhead = true
cylinder = "c1"
[[level]]
dive = "am"
"""))
    morning, afternoon = trip_of(text).dives
    assert (morning.start, len(morning.levels), afternoon.after) == (datetime(2027, 5, 14, 8, tzinfo=UTC), 1, "am")
    assert (afternoon.levels[0].overhead, afternoon.levels[0].cylinder) == (True, "c1")


def test_surface_emergency_and_answers_are_read() -> None:
    """Emergency oxygen, the lines for the card and the answers are in the trip."""
    text = edited(("[[level]]", """\
[[answer]]
code = "narcosis.end"
subject = "d1"
by = "d1"
at = 2027-05-14T08:30:00
text = "accepted for this dive"
[surface]
oxygen_l = "50 cu ft"
ride_min = 40
persons = 2
[emergency]
call = "harbour office"
"way up" = "north ladder"
[[level]]"""))
    trip = trip_of(text)
    assert trip.surface == Surface(50 * 28.316846592, 40.0, 2)
    assert trip.emergency == (("call", "harbour office"), ("way up", "north ladder"))
    assert [(answer.code, answer.subject, answer.by) for answer in trip.answers] == [("narcosis.end", "d1", "d1")]


def test_acclimatised_and_surface_pressure_set_the_tissues() -> None:
    """Acclimatised divers are saturated at the place's own pressure."""
    trip = trip_of(edited(("altitude_m = 410", "surface_bar = 0.96\nacclimatised = true")))
    close(trip.place.surface_bar, 0.96, within=0.0)
    close(trip.place.saturated_bar, 0.96, within=0.0)


def test_the_hash_is_of_the_bytes(tmp_path: Path) -> None:
    """input_sha256 is that of the file's bytes, whatever reads them."""
    path = tmp_path / "pit.toml"
    path.write_bytes(BASE.encode())
    assert read_trip(path).input_sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert trip_of_bytes(BASE.encode(), "other.toml").input_sha256 == read_trip(path).input_sha256
    assert trip_of(BASE + "# seen\n").input_sha256 != trip_of(BASE).input_sha256


def test_air_is_only_the_word() -> None:
    """The target air is 20.95 %, the target 21 is 21.00 %."""
    assert trip_of(edited(('target = "50"', 'target = "air"'))).cylinder("c2").target == AIR
    assert trip_of(edited(('target = "50"', "target = 21"))).cylinder("c2").target == Mixture(2100)
