"""What the gates see: the inputs with the questions every gate asks of them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from gaswright.catalogue import finding
from gaswright.clearance.inputs import ClearanceInput
from gaswright.custody.fact import Fact, Kind
from gaswright.custody.register import CylinderRecord
from gaswright.custody.standing import Known, Standing, Unknown
from gaswright.errors import InputError
from gaswright.findings import Finding, Subject
from gaswright.physics.depth_limits import LabelMod
from gaswright.physics.mixture import Mixture, percent_text
from gaswright.planning.dive import PlanCylinder, Role
from gaswright.planning.mods import label_mod_of, used_both_ways
from gaswright.policy import Policy

__all__ = ["Scope", "dive_day", "label_mods", "mixture_text", "moment_text", "scope_of", "stale"]

NOT_BREATHED = frozenset({Role.SUIT, Role.SURFACE})


@dataclass(frozen=True, slots=True)
class Scope:
    """The inputs of one clearance.

    Args:
        inputs: as given.
        policy: the limits.
        now: the clock; aware.
        mods: cylinder id to its label MOD, where the gas is known.
    """

    inputs: ClearanceInput
    policy: Policy
    now: datetime
    mods: Mapping[str, LabelMod]

    @property
    def cylinders(self) -> tuple[str, ...]:
        """Ids of every cylinder that is registered, folded or planned, in that order, each once."""
        planned = (cylinder.id for cylinder in self.inputs.dive.cylinders) if self.inputs.dive else ()
        return tuple(dict.fromkeys((*self.inputs.register, *self.inputs.standings, *planned)))

    @property
    def today(self) -> date:
        """The day on which test dates must hold: the later of today and the day of the dive, in the zone."""
        local = self.now.astimezone(ZoneInfo(self.inputs.zone)).date()
        return max(local, self.inputs.day) if self.inputs.day else local

    def standing(self, cylinder: str) -> Standing | None:
        """The standing of a cylinder, None if nobody folded one."""
        return self.inputs.standings.get(cylinder)

    def known(self, cylinder: str) -> Known | None:
        """The gas of a cylinder if it is known and vouches now."""
        standing = self.standing(cylinder)
        if standing is None or standing.known is None or stale(standing.known, self.policy, self.now):
            return None
        return None if standing.why or standing.frozen else standing.known

    def record(self, cylinder: str) -> CylinderRecord | None:
        """What the register says of a cylinder."""
        return self.inputs.register.get(cylinder)

    def planned(self, cylinder: str) -> PlanCylinder | None:
        """The cylinder as the dive has it, None if the dive does not use it."""
        found = (one for one in self.inputs.dive.cylinders if one.id == cylinder) if self.inputs.dive else ()
        return next(iter(found), None)

    def role(self, cylinder: str) -> Role:
        """What a cylinder is for; a cylinder nobody described is judged as a main."""
        return _role(self.planned(cylinder), self.record(cylinder))

    def breathed(self, cylinder: str) -> bool:
        """True unless it is suit gas or surface oxygen."""
        return self.role(cylinder) not in NOT_BREATHED

    def breathers(self, cylinder: str) -> tuple[str, ...]:
        """Ids of those who breathe from it; a team cylinder is breathed by all planned divers."""
        planned, record = self.planned(cylinder), self.record(cylinder)
        divers = planned.divers if planned else record.divers if record else ()
        return self.team if divers == ("team",) else divers

    @property
    def team(self) -> tuple[str, ...]:
        """Ids of the planned divers."""
        return tuple(diver.id for diver in self.inputs.divers if diver.planned)

    def in_dive(self, cylinder: str) -> bool:
        """True if a planned diver may breathe from it on this dive (without a dive: owns or shares it)."""
        if not self.breathed(cylinder) or (self.inputs.dive is not None and self.planned(cylinder) is None):
            return False
        return any(diver in self.team for diver in self.breathers(cylinder))

    def subject(self, cylinder: str) -> Subject:
        """The subject of a finding about a cylinder: it and the first who breathes from it."""
        return Subject(diver=next(iter(self.breathers(cylinder)), None), cylinder=cylinder)

    def about(self, diver: str, cylinder: str) -> Subject:
        """The subject of a finding about one diver and one cylinder."""
        return Subject(diver=diver, cylinder=cylinder)

    def name(self, person: str) -> str:
        """The name of a person for a sentence; the id where nobody said."""
        return next((diver.name for diver in self.inputs.divers if diver.id == person), person)

    def staged_fact(self, cylinder: str) -> Fact | None:
        """The fact by which a cylinder that is staged now was left, None if it is not staged or no fact is here."""
        standing = self.standing(cylinder)
        if standing is None or not standing.staged:
            return None
        stream = f"gas/{cylinder}"
        left = (fact for fact in self.inputs.facts if fact.kind == Kind.STAGED and fact.stream == stream)
        return max(left, key=lambda fact: fact.at, default=None)

    def find(self, code: str, subject: Subject, **values: str) -> Finding:
        """The finding of a code by this scope's policy."""
        return finding(self.policy, code, subject, **values)

    def moment(self, at: datetime) -> str:
        """A time as text in the trip's zone."""
        return moment_text(at, self.inputs.zone)


def scope_of(inputs: ClearanceInput, policy: Policy, now: datetime) -> Scope:
    """The scope of one clearance.

    Args:
        inputs: as given.
        policy: the limits.
        now: the clock; aware.

    Raises:
        InputError: the clock carries no offset, or there is no such time zone.
    """
    if now.tzinfo is None:
        raise InputError("the time to judge by carries no zone; give an offset, e.g. 2027-05-14T09:00:00+02:00")
    try:
        ZoneInfo(inputs.zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise InputError(f"{inputs.zone!r} is not a time zone; give an IANA name such as Europe/Berlin") from error
    return Scope(inputs, policy, now, label_mods(inputs, policy))


def label_mods(inputs: ClearanceInput, policy: Policy) -> dict[str, LabelMod]:
    """Cylinder id to its label MOD, for every cylinder whose gas is known.

    Args:
        inputs: standings, register, dive.
        policy: the limits.
    """
    planned = {cylinder.id: cylinder for cylinder in inputs.dive.cylinders} if inputs.dive else {}
    mods = {}
    for cylinder, standing in inputs.standings.items():
        if standing.known is not None:
            both_ways = cylinder in planned and used_both_ways(planned[cylinder])
            role = _role(planned.get(cylinder), inputs.register.get(cylinder))
            mods[cylinder] = label_mod_of(standing.known.rich, role, policy, both_ways=both_ways)
    return mods


def _role(planned: PlanCylinder | None, record: CylinderRecord | None) -> Role:
    # A cylinder nobody described is judged as a main: the lower limit.
    return planned.role if planned else Role(record.role) if record else Role.MAIN


def stale(known: Known, policy: Policy, now: datetime) -> Unknown | None:
    """Why a known gas does not vouch at this moment, None if it does.

    Args:
        known: the gas as it was folded.
        policy: how far ahead a clock may be.
        now: the clock; aware.
    """
    if known.at > now + timedelta(minutes=policy.clock_ahead_min):
        return Unknown.IN_THE_FUTURE
    return Unknown.EXPIRED if known.expires is not None and now >= known.expires else None


def dive_day(at: datetime, zone: str, policy: Policy) -> date:
    """The day a moment belongs to: a dive day ends at the policy's local hour, not at midnight.

    Args:
        at: the moment; aware.
        zone: IANA name.
        policy: the hour.
    """
    return (at.astimezone(ZoneInfo(zone)).replace(tzinfo=None) - timedelta(hours=policy.dive_day_end_h)).date()


def moment_text(at: datetime, zone: str) -> str:
    """A time as a sentence shows it: "2027-05-14 07:40".

    Args:
        at: the moment; aware.
        zone: IANA name.
    """
    return at.astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M")


def mixture_text(mixture: Mixture) -> str:
    """A gas as a sentence shows it, its numbers kept: "49.6 %", "18.2/44.6", "OXYGEN 99.2 %".

    Args:
        mixture: the gas.
    """
    number = f" {percent_text(mixture.o2_e4)} %" if mixture.name == "OXYGEN" else ""
    return mixture.name + number
