"""The board: every cylinder as its label would say it, its standing, and what holds it back."""

from collections.abc import Sequence
from dataclasses import dataclass

from gaswright.catalogue import CATALOGUE
from gaswright.clearance.leave import label_mods
from gaswright.custody.standing import Standing
from gaswright.findings import Finding
from gaswright.planning.dive import UnitSystem
from gaswright.services.checking import Checked, standing_words
from gaswright.services.wording import pressure

__all__ = ["BoardRow", "board_rows"]

# What holds a cylinder back, by the code of the finding; the first that applies is shown.
HOLDS = (
    ("gas.frozen", "frozen"),
    ("cylinder.out_of_test", "out of test"),
    ("cylinder.retired", "refuse"),
    ("cylinder.not_oxygen_clean", "refuse"),
    ("ppo2.low", "refuse"),
    ("mod.staging", "refuse"),
    ("mod.planned_use", "re-plan"),
    ("mod.place_ppo2", "re-plan"),
    ("supply.minimum_gas", "re-plan"),
    ("supply.minimum_passed", "re-plan"),
    ("supply.runs_out", "re-plan"),
    ("cylinder.staged_overnight", "staged"),
)


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One cylinder on the board.

    Args:
        cylinder: id.
        serial: as stamped.
        id_on_metal: last four of the serial.
        divers: ids of those who breathe from it.
        diver_names: the same for reading.
        standing: unknown, filled, analysed, labelled, cleared or used.
        hold: what blocks it, None.
        o2: fraction of oxygen, None where unknown [fraction].
        he: fraction of helium, None where unknown [fraction].
        mod_m: MOD on its label, None where unknown [m].
        mod_ft: MOD on its label, None where unknown [ft].
        gas_text: its gas, "?" where unknown.
        mod_text: its MOD with its unit.
        pressure_text: latest pressure in the owner's units.
        why: why the gas is unknown, or "".
    """

    cylinder: str
    serial: str
    id_on_metal: str
    divers: tuple[str, ...]
    diver_names: str
    standing: str
    hold: str | None
    o2: float | None
    he: float | None
    mod_m: int | None
    mod_ft: int | None
    gas_text: str
    mod_text: str
    pressure_text: str
    why: str


def board_rows(checked: Checked) -> Sequence[BoardRow]:
    """Every cylinder of the day in the order of the file.

    Args:
        checked: a day judged.
    """
    words = standing_words(checked)
    return [_row(checked, identity, words[identity]) for identity in checked.day.standings]


def _row(checked: Checked, identity: str, word: str) -> BoardRow:
    day, standing, record = checked.day, checked.day.standings[identity], checked.day.register[identity]
    names = {diver.id: diver for diver in day.trip.divers}
    mod = label_mods(checked.inputs, day.trip.policy).get(identity)
    mixture = standing.known.reading.mixture if standing.known else None
    metric = day.trip.units is UnitSystem.METRIC
    gauge = None if standing.gauge_centibar is None else standing.gauge_centibar / 100
    return BoardRow(
        cylinder=identity,
        serial=record.serial,
        id_on_metal=record.id_on_metal,
        divers=record.divers,
        diver_names=", ".join(names[diver].name for diver in record.divers),
        standing=word,
        hold=_hold(identity, standing, checked.clearance.findings),
        o2=mixture.o2 if mixture else None,
        he=mixture.he if mixture else None,
        mod_m=mod.metres if mod else None,
        mod_ft=mod.feet if mod else None,
        gas_text=mixture.name if mixture else "?",
        mod_text="?" if mod is None else (f"{mod.metres} m" if metric else f"{mod.feet} ft"),
        pressure_text=pressure(gauge, names[record.divers[0]].units, "nearest") if record.divers else "-",
        why=_why(standing),
    )


def _hold(identity: str, standing: Standing, findings: Sequence[Finding]) -> str | None:
    if standing.frozen:
        return "frozen"
    codes = {finding.code for finding in findings if finding.subject.cylinder == identity and finding.blocks}
    return next((hold for code, hold in HOLDS if code in codes), None)


def _why(standing: Standing) -> str:
    if standing.why is None:
        return ""
    return CATALOGUE[f"gas.{standing.why.value}"].text.format(**dict(standing.why_values))
