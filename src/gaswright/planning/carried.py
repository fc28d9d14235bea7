"""What a team carries from one dive to the next: tissues after a surface interval, and the oxygen of earlier dives."""


from gaswright.decompression.coefficients import COMPARTMENTS, VAPOUR_BAR
from gaswright.decompression.request import Tissues
from gaswright.physics.mixture import AIR
from gaswright.physics.place import Place

__all__ = ["resting_tissues"]


def resting_tissues(place: Place) -> Tissues:
    """Tensions of a diver who made no earlier dive: saturated with air where the place says.

    Args:
        place: gives the pressure of saturation.
    """
    rest_bar = (place.saturated_bar - VAPOUR_BAR) * AIR.n2
    return Tissues((rest_bar,) * COMPARTMENTS, (0.0,) * COMPARTMENTS)
