"""The depth above which a gas must not be breathed: label convention and place, whichever is deeper, rounded up."""

from dataclasses import replace

import pytest

from gaswright.analysis.reading import Reading
from gaswright.clearance.leave import minimum_depth
from gaswright.physics.depth_limits import ppo2_ata
from gaswright.physics.mixture import Mixture
from gaswright.physics.place import Place, surface_bar_at
from unit.clearance.day_for_tests import POLICY

LEAN = Reading(Mixture(1780, 4510), 50, 100)


def test_a_gas_that_suffices_at_the_sea_does_not_at_altitude() -> None:
    """17.8 % less 0.5 %: at 2000 m (794.95 hPa, ISO 2533) 0.16 ata is reached 0.1422 bar below: 1.42 m, 4.66 ft."""
    assert minimum_depth(LEAN, POLICY, Place()) == (0, 0)
    metres, feet = minimum_depth(LEAN, POLICY, Place(surface_bar=surface_bar_at(2000.0)))
    assert (metres, feet) == (2, 5)


@pytest.mark.parametrize("altitude_m", [0.0, 400.0, 1200.0, 3000.0])
@pytest.mark.parametrize("o2_e4", [800, 1200, 1500, 1700, 1900])
@pytest.mark.parametrize("low_ata", [0.16, 0.165, 0.1801])
def test_at_the_minimum_depth_there_is_enough_oxygen(altitude_m: float, o2_e4: int, low_ata: float) -> None:
    """At the printed depth, metres or feet, the lean side carries the lower limit, a tightened one too."""
    reading, place = Reading(Mixture(o2_e4, 4000), 50, 100), Place(surface_bar=surface_bar_at(altitude_m))
    metres, feet = minimum_depth(reading, replace(POLICY, ppo2_low_stop_ata=low_ata), place)
    for depth_m in (metres, feet * 0.3048):
        assert ppo2_ata(reading.lean_o2_e4 / 10_000, place.ambient_bar(depth_m)) >= low_ata - 1e-9


def test_the_label_convention_still_counts() -> None:
    """Below sea level the place would allow less depth; the label's own convention is kept."""
    thin = Reading(Mixture(1500, 5500), 50, 100)
    assert minimum_depth(thin, POLICY, Place(surface_bar=1.2)) == minimum_depth(thin, POLICY, None) == (2, 4)
