"""Team switch card: every switch with its cylinders, order and confirmers, and the steps that each switch takes."""

from collections.abc import Mapping, Sequence

from gaswright.clearance.permits import SheetPermit
from gaswright.decompression.request import Direction
from gaswright.errors import Refused
from gaswright.paper.lettering import name_on_paper, names_on_paper
from gaswright.paper.slates import band_text, made_at
from gaswright.paper.starts import box_minimum, box_mod, gas_text, start_cylinders, together
from gaswright.paper.stock import Stock, size_mm, stock_of
from gaswright.paper.typesetting import Sheet, pdf_of, pictures_of
from gaswright.paper.wording import CAUTION, day_text, depth_parts, units_text
from gaswright.planning.dive import PlanCylinder
from gaswright.team.switches import SwitchTurn, TeamSwitch, switch_plan

__all__ = ["switch_card_pdf", "switch_card_pictures"]

# The trade's procedure in short words; common practice, no source.
_BEFORE = ("Stop reached, depth steady, nobody busy. Depth shown at most the MOD on the cylinder. One diver at a time, "
           "in the order of the boxes.")
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
    names = names_on_paper(permit.divers)
    values = {
        "width_mm": width_mm, "height_mm": height_mm, "stock": paper.name, "trip": name_on_paper(permit.trip_name),
        "day": day_text(permit.day), "code": permit.sheet_code, "policy": permit.policy_version,
        "units": units_text(permit.dive.units), "caution": CAUTION, "band": band_text(permit),
        "team": ", ".join(names.values()),
        "start": [_start(diver, permit, name) for diver, name in names.items()],
        "switches": [
            _switch(one, gas.direction, permit, names)
            for one, gas in zip(switch_plan(permit.plan, permit.dive, permit.mods), permit.plan.team_gases, strict=True)
        ],
        "before": _BEFORE, "steps": _STEPS, "after": _AFTER, "settings": _SETTINGS,
    }
    return Sheet("switch_card", values, made_at(permit))


def _start(diver: str, permit: SheetPermit, name: str) -> dict[str, object]:
    return {"order": "", "name": name} | _cells(start_cylinders(permit, diver), permit)


def _switch(
    switch: TeamSwitch, direction: Direction, permit: SheetPermit, names: Mapping[str, str]
) -> dict[str, object]:
    number, unit = depth_parts(switch.depth_m, permit.dive.units)
    return {
        "name": "GOING DOWN, SWITCH AT" if direction is Direction.DOWN else "SWITCH AT",
        "number": number, "unit": unit,
        "turns": [_turn(at, turn, permit, names) for at, turn in enumerate(switch.turns, start=1)],
    }


def _turn(at: int, turn: SwitchTurn, permit: SheetPermit, names: Mapping[str, str]) -> dict[str, object]:
    confirmer = "nobody" if turn.confirmed_by is None else names[turn.confirmed_by]
    cells = _cells(together(permit, turn.diver, turn.cylinder), permit)
    return {"order": f"{at}.", "name": names[turn.diver], "confirmed": f"confirmed by {confirmer}"} | cells


def _cells(cylinders: Sequence[PlanCylinder], permit: SheetPermit) -> dict[str, object]:
    """IDs to look for, MOD, gas (once where it is the same in all) and where it may not be breathed."""
    gases = [gas_text(one) for one in cylinders]
    return {
        "ids": [permit.ids_on_metal.get(one.id, one.id) for one in cylinders],
        "mod": box_mod(permit, cylinders) or ["not known"],
        "gases": gases[:1] if len(set(gases)) == 1 else gases,
        "minimum": box_minimum(permit, cylinders),
    }
