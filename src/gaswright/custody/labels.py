"""What counts for the analysis in force: the label on the cylinder, and who accepted the gas."""

from collections.abc import Mapping, Sequence

from gaswright.analysis.reading import Reading
from gaswright.custody.ages import Clock
from gaswright.custody.fact import Fact, FactId, Kind
from gaswright.custody.heads import ended, of_kind, unreplaced, voids
from gaswright.custody.readings import reading_of
from gaswright.custody.register import CylinderRecord

__all__ = ["accepted_by", "label_of", "same_serial"]


def label_of(
    stream: Sequence[Fact], in_force: Mapping[FactId, Fact], rich: Reading, clock: Clock,
    record: CylinderRecord | None,
) -> tuple[FactId | None, bool | None]:
    """The label that shows the analysis in force, and whether it was put on this cylinder; (None, None) without one.

    A label counts only while all that it rests on is in force, and only if it shows the reading that gives the MOD.
    Of several that count, one that was read from another cylinder speaks first.

    Args:
        stream: facts of one cylinder's gas.
        in_force: its analyses in force.
        rich: what they say of the MOD together.
        clock: labels from the future do not count.
        record: the cylinder in the register, None if it is not there.
    """
    applied = [fact for fact in of_kind(stream, Kind.LABEL_APPLIED) if _shows(fact, in_force, rich, clock)]
    hanging = [
        fact for fact in unreplaced(stream, applied)
        if not ended(stream, fact, Kind.LABEL_LOST) and clock.ahead_of_now(fact) is None
    ]
    if not hanging or any(fact.id in voids(stream) for fact in hanging):
        return None, None
    wrong = [fact for fact in hanging if not record or not same_serial(fact.data.get("serial_read"), record.serial)]
    return (wrong or hanging)[-1].id, not wrong


def _shows(label: Fact, in_force: Mapping[FactId, Fact], rich: Reading, clock: Clock) -> bool:
    """True if the label rests on analyses in force alone and they reach the rich reading."""
    if not label.rests_on or not set(label.rests_on) <= set(in_force):
        return False
    shown = [reading_of(in_force[key], clock.policy) for key in label.rests_on]
    readings = [reading for reading in shown if isinstance(reading, Reading)]
    return (
        max(reading.mixture.o2_e4 for reading in readings) == rich.mixture.o2_e4
        and max(reading.rich_o2_e4 for reading in readings) == rich.rich_o2_e4
    )


def same_serial(serial_read: object, serial: str) -> bool:
    """True if what was read from the metal is the serial, or its last four, whatever the case and the spaces.

    Args:
        serial_read: as typed; anything but a text matches nothing.
        serial: as the register has it.
    """
    if not isinstance(serial_read, str):
        return False
    read, whole_serial = ("".join(text.split()).casefold() for text in (serial_read, serial))
    return read != "" and read in {whole_serial, whole_serial[-4:]}


def accepted_by(
    stream: Sequence[Fact], analyses: Sequence[Fact], divers: Sequence[str], clock: Clock
) -> tuple[str, ...]:
    """Those who breathe from the cylinder and vouch for its gas: who analysed it, and who accepted the analysis.

    Args:
        stream: facts of one cylinder's gas.
        analyses: in force.
        divers: ids of those who breathe from it; "team" stands for everybody.
        clock: acceptances from the future do not count.
    """
    in_force = {fact.id for fact in analyses}
    people = {fact.by for fact in analyses} | {
        name for fact in analyses if isinstance(name := fact.data.get("accepted_by"), str)
    }
    people |= {
        fact.by for fact in of_kind(stream, Kind.ACCEPTED)
        if fact.rests_on and set(fact.rests_on) <= in_force
        and fact.id not in voids(stream) and clock.ahead_of_now(fact) is None
    }
    return tuple(sorted(person for person in people if person in divers or "team" in divers))
