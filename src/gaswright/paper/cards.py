"""Team switch card: every switch with its cylinders, order and confirmers, and the steps that each switch takes."""

from collections.abc import Mapping

from gaswright.clearance.permits import SheetPermit
from gaswright.decompression.request import Direction
from gaswright.errors import Refused
from gaswright.paper.slates import band_text, made_at
from gaswright.paper.stock import Stock, size_mm, stock_of
from gaswright.paper.typesetting import Sheet, pdf_of, pictures_of
from gaswright.paper.wording import CAUTION, day_text, depth_parts, mod_parts, units_text
from gaswright.planning.dive import Diver
from gaswright.team.switches import SwitchTurn, TeamSwitch, switch_plan

__all__ = ["switch_card_pdf", "switch_card_pictures"]

# The trade's procedure in short words; common practice, no source.
_BEFORE = ("Stop reached, depth steady, nobody busy. Depth shown at most the MOD on the cylinder. One diver at a time, "
           "in the order above.")
_STEPS = (
    "Announce. Buddy acknowledges and watches.",
    "Read the cylinder: buddy label (MOD), neck label (gas).",
    "Read the depth: at most the MOD. Both divers.",
    "Trace the hose from that cylinder to the mouthpiece in hand. Short purge, valve shut: that needle falls.",
    "Open the valve: the needle returns. Read the pressure: enough for its stops.",
    "Regulator in hand, not yet breathed: buddy confirms MOD, own depth, hose.",
    "Breathe. First breaths watched.",
    "Change the computer. Read back the gas. Note the time.",
    "Confirm. Swap roles.",
    "Close the valve of the gas just left. Stow its mouthpiece.",
)
_AFTER = (
    'Any "no": do not switch, stay on the present gas.',
    "Travel gas: the same, and not shallower than its minimum depth.",
    "Alone: the same, label and depth read twice, aloud. In doubt stay on the present gas.",
    "Donate only a gas that can be breathed at this depth, never a rich gas below its MOD.",
)
_SETTINGS = (
    {"name": "Valve before the switch", "choices": ["shut", "open"]},
    {"name": "Back gas between two deco gases", "choices": ["breathed", "not breathed"]},
    {"name": "Divers switch", "choices": ["one by one", "in parallel with cross-check"]},
)


def switch_card_pdf(permit: SheetPermit, stock: str = Stock.A4) -> bytes:
    """The switch card of the team as PDF.

    Args:
        permit: leave to print the team's sheets.
        stock: "a4" or "letter".

    Raises:
        InputError: unknown stock, or a character that the font cannot show.
        Refused: the plan rests on gas that is not analysed, or something does not fit.
    """
    return pdf_of(_sheet(permit, stock))


def switch_card_pictures(permit: SheetPermit, stock: str = Stock.A4, *, dots_per_inch: int = 203) -> tuple[bytes, ...]:
    """The same as PNG pictures, one a page.

    Args:
        permit: leave to print the team's sheets.
        stock: "a4" or "letter".
        dots_per_inch: resolution.

    Raises:
        InputError: unknown stock, or a character that the font cannot show.
        Refused: the plan rests on gas that is not analysed, or something does not fit.
    """
    return pictures_of(_sheet(permit, stock), dots_per_inch)


def _sheet(permit: SheetPermit, stock: str) -> Sheet:
    if permit.plan_only:
        raise Refused("the plan rests on gas that is not analysed: no switch card; analyse every cylinder, plan again")
    paper = stock_of(stock)
    width_mm, height_mm = size_mm(paper)
    divers = {diver.id: diver for diver in permit.divers}
    values = {
        "width_mm": width_mm, "height_mm": height_mm, "stock": paper.name, "trip": permit.trip_name,
        "day": day_text(permit.day), "code": permit.sheet_code, "policy": permit.policy_version,
        "units": units_text(permit.dive.units), "caution": CAUTION, "band": band_text(permit),
        "team": ", ".join(diver.name for diver in permit.divers),
        "switches": [
            _switch(one, gas.direction, permit, divers)
            for one, gas in zip(switch_plan(permit.plan, permit.dive, permit.mods), permit.plan.team_gases, strict=True)
        ],
        "before": _BEFORE, "steps": _STEPS, "after": _AFTER, "settings": _SETTINGS,
    }
    return Sheet("switch_card", values, made_at(permit))


def _switch(
    switch: TeamSwitch, direction: Direction, permit: SheetPermit, divers: Mapping[str, Diver]
) -> dict[str, object]:
    number, unit = depth_parts(switch.depth_m, permit.dive.units)
    return {
        "name": "GOING DOWN, SWITCH AT" if direction is Direction.DOWN else "SWITCH AT",
        "number": number, "unit": unit,
        "turns": [_turn(at, turn, permit, divers) for at, turn in enumerate(switch.turns, start=1)],
    }


def _turn(at: int, turn: SwitchTurn, permit: SheetPermit, divers: Mapping[str, Diver]) -> list[object]:
    """Order, diver, cylinder ID, MOD, gas, who confirms."""
    mod = ("not known",) if turn.mod is None else mod_parts(turn.mod, permit.dive.units)
    confirmer = "nobody" if turn.confirmed_by is None else divers[turn.confirmed_by].name
    return [f"{at}.", divers[turn.diver].name, permit.ids_on_metal.get(turn.cylinder, turn.cylinder), mod,
            turn.gas_name, confirmer]
