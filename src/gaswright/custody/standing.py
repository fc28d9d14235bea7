"""What is in a cylinder now, who says so, and until when: the answer of the fold."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from gaswright.analysis.reading import Reading
from gaswright.custody.fact import FactId

__all__ = ["Known", "Rung", "Standing", "Unknown"]


class Rung(StrEnum):
    """The ladder of a cylinder; it is folded, never stored."""

    UNKNOWN = "unknown"
    FILLED = "filled"
    ANALYSED = "analysed"
    LABELLED = "labelled"
    CLEARED = "cleared"
    USED = "used"


class Unknown(StrEnum):
    """Why a gas is not known; each has a text in the catalogue under "gas." + value."""

    NEVER_ANALYSED = "never_analysed"          # no analysis at all
    FILLED_SINCE = "filled_since"              # changed after its last analysis
    EQUAL_TIMES = "equal_times"                # fill and analysis at the same time: order unknown
    HELIUM_NOT_MEASURED = "helium_not_measured"
    LABELS_OFF = "labels_off"                  # labels removed since
    LENT = "lent"                              # lent or out of sight since
    TWO_HEADS = "two_heads"                    # two histories that do not know each other
    DISAGREE = "disagree"                      # analyses in force that differ by more than U
    ABSENT_FACT = "absent_fact"                # a fact it rests on is not here
    VOIDED = "voided"                          # the fact it rests on was corrected away
    EXPIRED = "expired"                        # older than the policy allows
    LIFTED = "lifted"                          # lifted after it was staged under water
    IN_THE_FUTURE = "in_the_future"            # clock of its author is ahead
    UNKNOWN_KIND = "unknown_kind"              # recorded by a newer program
    FROZEN = "frozen"                          # kept as evidence


@dataclass(frozen=True, slots=True)
class Known:
    """The gas of a cylinder, by one analysis in force (or several that agree).

    Args:
        reading: the reading on which decompression runs.
        rich: the reading that speaks for MOD (richest of those in force).
        lean: the reading that speaks for hypoxia and decompression (leanest of those in force).
        analysis: id of the fact.
        fill: id of the head it measured.
        gauge_centibar: gauge pressure at the analysis, None: not read [0.01 bar].
        temperature_centi_k: temperature of the cylinder at the reading, None: not read [0.01 K].
        at: when.
        by: who analysed.
        accepted_by: the diver who breathes it and accepted it (the analyst counts for himself), sorted ids.
        witness: who watched, None.
        expires: until when it vouches.
        notes: codes of notes (for example "gas.two_readings").
    """

    reading: Reading
    rich: Reading
    lean: Reading
    analysis: FactId
    fill: FactId
    gauge_centibar: int | None
    temperature_centi_k: int | None
    at: datetime
    by: str
    accepted_by: tuple[str, ...]
    witness: str | None
    expires: datetime | None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """Where one cylinder stands.

    Args:
        cylinder: id.
        rung: the highest rung whose lower rungs all hold.
        known: the gas, None if unknown.
        why: reason code if the gas is unknown, None else.
        why_values: named values for the sentence of `why`.
        label: id of the label fact that shows the analysis in force, None.
        label_serial_matches: False if the ID read from the metal was another's; None without a label.
        gauge_centibar: latest gauge pressure, None [0.01 bar].
        frozen: kept as evidence.
        staged: left under water on purpose.
    """

    cylinder: str
    rung: Rung
    known: Known | None
    why: Unknown | None
    why_values: tuple[tuple[str, str], ...] = ()
    label: FactId | None = None
    label_serial_matches: bool | None = None
    gauge_centibar: int | None = None
    frozen: bool = False
    staged: bool = False
