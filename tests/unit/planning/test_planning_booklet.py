"""The booklet: every line is the plan of that dive, read back from the CSV."""

import csv
import io
from dataclasses import replace

import pytest

from check import close
from gaswright.errors import InputError
from gaswright.planning.booklet import booklet, booklet_csv
from gaswright.planning.dive import Level, UnitSystem
from gaswright.planning.plan import plan
from unit.planning.dives import POLICY, dive

DEPTHS_M, MINUTES = (36.0, 45.0), (10.0, 25.0)


def lines() -> list[dict[str, str]]:
    """The booklet of the usual dive, line by line."""
    text = booklet_csv(booklet(dive(), POLICY, DEPTHS_M, MINUTES), dive())
    return list(csv.DictReader(io.StringIO(text)))


def test_every_line_is_the_plan_of_that_dive() -> None:
    """TTS, runtime, stops and the TTS without each gas are those of a plan made alone, to two decimals."""
    found = lines()
    assert [(line["depth"], line["bottom min"]) for line in found] == [
        (f"{depth_m:g} m", f"{minutes:g}") for depth_m in DEPTHS_M for minutes in MINUTES
    ]
    for line in found:
        depth_m, minutes = float(line["depth"].removesuffix(" m")), float(line["bottom min"])
        made = plan(replace(dive(), levels=(Level(depth_m, minutes),)), POLICY)
        assert made.planned.schedule is not None
        close(float(line["TTS min"]), made.planned.schedule.tts_min, within=0.005)
        close(float(line["runtime min"]), made.planned.schedule.runtime_min, within=0.005)
        stops = sum(float(value) for name, value in line.items() if name.startswith("stop ") and value)
        assert stops <= made.planned.schedule.tts_min
        for case in made.cases:
            if case.lost and f"TTS min, {case.name}" in line:
                without = line[f"TTS min, {case.name}"]
                assert without == "NO WAY UP" or case.schedule is not None
                if without != "NO WAY UP" and case.schedule is not None:
                    close(float(without), case.schedule.tts_min, within=0.005)


def test_a_lost_gas_has_a_column_of_its_own() -> None:
    """Each gas of the way up, and both together."""
    names = [name for name in lines()[0] if name.startswith("TTS min, lost")]
    assert names == ["TTS min, lost 21 m gas", "TTS min, lost 6 m gas", "TTS min, lost 21 m gas and 6 m gas"]


def test_a_dive_that_does_not_hold_says_which_rules_stop_it() -> None:
    """70 m on 21/35 is deeper than its MOD; the line keeps its numbers and names the rule."""
    row = booklet(dive(), POLICY, (70.0,), (10.0,))[0]
    assert row.tts_min is not None
    assert "mod.planned_use" in row.word


def test_an_imperial_team_reads_feet() -> None:
    """Depths of an imperial team stand in feet."""
    feet = replace(dive(), units=UnitSystem.IMPERIAL,
                   settings=replace(dive().settings, stop_step_m=3.048, last_stop_m=6.096))
    text = booklet_csv(booklet(feet, POLICY, (36.576,), (10.0,)), feet)
    assert text.splitlines()[1].startswith("120 ft,10,")


def test_an_empty_booklet_is_refused() -> None:
    """No depth is no booklet."""
    with pytest.raises(InputError, match="2,000"):
        booklet(dive(), POLICY, (), (10.0,))
