"""How long an analysis vouches. Clocks serve age only, and only to take trust away."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import of_kind, voids
from gaswright.errors import InputError
from gaswright.policy import Policy

__all__ = ["Clock", "clock_of"]


@dataclass(frozen=True, slots=True)
class Clock:
    """What time it is for the fold, where, and how old an analysis may be.

    Args:
        now: aware; None: ages are not judged.
        zone: in which the dive day ends and times are shown.
        policy: whose ages hold.
    """

    now: datetime | None
    zone: ZoneInfo
    policy: Policy

    def ahead_of_now(self, fact: Fact) -> timedelta | None:
        """By how much a fact lies in the future, None while it is within the allowed room.

        Args:
            fact: judged by `at` and by `recorded`.
        """
        if self.now is None:
            return None
        ahead = max(fact.at, fact.recorded) - self.now
        return ahead if ahead > timedelta(minutes=self.policy.clock_ahead_min) else None

    def expires(self, stream: Sequence[Fact], analysis: Fact) -> datetime:
        """Until when an analysis vouches, in UTC: `at` and `recorded` are both asked and the earlier answer holds.

        A staging that names the analysis, and was done and recorded while it still vouched, extends it to at most the
        policy's days after the analysis.

        Args:
            stream: facts of the same cylinder's gas.
            analysis: whose age is asked.
        """
        ordinary = min(self._ordinary(analysis.at), self._ordinary(analysis.recorded))
        if not self._staged_in_time(stream, analysis, ordinary):
            return ordinary
        return max(ordinary, _first(analysis) + timedelta(days=self.policy.staged_valid_days))

    def _ordinary(self, moment: datetime) -> datetime:
        oldest = moment.astimezone(UTC) + timedelta(hours=self.policy.analysis_valid_h)
        end = self.dive_day_end(moment)
        if self.policy.evening_analysis:  # then the gates ask for ID and pressure to be read again on the new dive day
            end = self.dive_day_end(end)
        return min(oldest, end)

    def dive_day_end(self, moment: datetime) -> datetime:
        """The end of the dive day to which a moment belongs, in UTC; the earlier one where a clock change allows two.

        Args:
            moment: aware.
        """
        day = moment.astimezone(self.zone).date()
        return min(end for shift in (-1, 0, 1, 2) if (end := self._end_of(day + timedelta(days=shift))) > moment)

    def _end_of(self, day: date) -> datetime:
        wall = datetime.combine(day, time()) + timedelta(hours=self.policy.dive_day_end_h)
        return min(wall.replace(tzinfo=self.zone, fold=fold).astimezone(UTC) for fold in (0, 1))

    def _staged_in_time(self, stream: Sequence[Fact], analysis: Fact, until: datetime) -> bool:
        voided = voids(stream)
        return any(
            analysis.id in fact.rests_on
            and fact.id not in voided
            and max(fact.at, fact.recorded) <= until
            and self.ahead_of_now(fact) is None
            for fact in of_kind(stream, Kind.STAGED)
        )

    def text(self, moment: datetime, today: datetime) -> str:
        """Local time as text: "07:40", with the date before it if that is not today.

        Args:
            moment: aware.
            today: a moment of the day that needs no date.
        """
        local = moment.astimezone(self.zone)
        same_day = local.date() == today.astimezone(self.zone).date()
        return f"{local:%H:%M}" if same_day else f"{local:%Y-%m-%d %H:%M}"


def clock_of(now: datetime | None, zone: str, policy: Policy) -> Clock:
    """The clock of a fold.

    Args:
        now: aware; None: ages are not judged.
        zone: IANA name.
        policy: whose ages hold.

    Raises:
        InputError: there is no such zone, or `now` says no offset.
    """
    if now is not None and now.utcoffset() is None:
        raise InputError(f"the time {now} says no offset from UTC; give it with one")
    try:
        return Clock(now, ZoneInfo(zone), policy)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise InputError(f"{zone!r} is not a time zone; give an IANA name such as Europe/Berlin") from error


def _first(fact: Fact) -> datetime:
    return min(fact.at, fact.recorded).astimezone(UTC)
