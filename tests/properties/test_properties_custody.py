"""Custody under any order of acts on phones that do not always know of each other.

The model in this file remembers, for each fact, everything that its author's phone held at that moment. It knows no
heads and no names: a gas is known only if an analysis saw every change, and so on. The fold must agree with it.
"""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from custody_facts import POLICY, ZONE, registered
from gaswright.custody.fact import Fact, FactId, Kind, Value
from gaswright.custody.folding import fold
from gaswright.custody.standing import Rung, Standing, Unknown

START = datetime(2027, 5, 14, 6, tzinfo=UTC)
CHANGES = (Kind.FILLED, Kind.TOPPED_UP, Kind.DRAINED, Kind.LENT, Kind.RETURNED, Kind.LABELS_REMOVED, Kind.FROZEN)
PHONES = ("K", "P", "Z")
LADDER = list(Rung)
U_E4 = 50

phones = st.sampled_from(PHONES)
minutes_off = st.sampled_from([0, 0, 0, 0, 0, -60 * 16, -120, -4, 4, 6, 90, 60 * 30])
skews = st.tuples(minutes_off, minutes_off)  # of `at` and of `recorded`
oxygens = st.sampled_from([1800, 1800, 1850, 1870, 1900, 2500])


@dataclass(frozen=True)
class Told:
    """A fact, and what its author's phone held."""

    fact: Fact
    seen: frozenset[FactId] = field(default=frozenset())

    @property
    def is_change(self) -> bool:
        """True if it changes the gas."""
        return self.fact.kind in CHANGES


View = frozenset[FactId]


class CustodyMachine(RuleBasedStateMachine):
    """Three phones that fill, analyse, label, lend, stage, correct, and sometimes exchange their books."""

    def __init__(self) -> None:
        super().__init__()
        self.told: dict[FactId, Told] = {}
        self.views: dict[str, View] = dict.fromkeys(PHONES, frozenset())
        self.now = START

    # ---- the model: what a view vouches for

    def of(self, view: View, *kinds: str) -> list[Told]:
        return [self.told[key] for key in sorted(view) if self.told[key].fact.kind in kinds]

    def last_changes(self, view: View) -> list[Told]:
        """The changes that no other change in the view had seen."""
        changes = self.of(view, *CHANGES)
        return [one for one in changes if not any(one.fact.id in other.seen for other in changes)]

    def voiders(self, view: View, target: FactId) -> set[FactId]:
        return {one.fact.id for one in self.of(view, Kind.CORRECTED) if one.fact.data["voids"] == target}

    def current(self, view: View) -> list[Told]:
        """Analyses that saw every change there is, and that no other such analysis saw."""
        changes = {one.fact.id for one in self.of(view, *CHANGES)}
        rivals = [one for one in self.of(view, Kind.ANALYSED) if changes <= one.seen]
        return [one for one in rivals if not any(one.fact.id in other.seen for other in rivals)]

    def vouching(self, view: View) -> list[Told]:
        """The analyses by which the gas is known, clocks aside; none if it is unknown."""
        last, current = self.last_changes(view), self.current(view)
        if len(last) != 1 or last[0].fact.kind == Kind.FROZEN:
            return []
        for one in current:
            if self.voiders(view, one.fact.id) or not self.voiders(view, last[0].fact.id) <= one.seen:
                return []
            lifted = any(self.lifts(lift, last[0], one) for lift in self.of(view, Kind.LIFTED))
            if lifted or one.fact.data["he_e4"] is None:
                return []
        oxygen = [int(str(one.fact.data["o2_e4"])) for one in current]
        return current if oxygen and (max(oxygen) - min(oxygen)) ** 2 <= 2 * U_E4**2 else []

    def lifts(self, lift: Told, head: Told, analysis: Told) -> bool:
        """True if a lift that the analysis had not seen was of this filling, or of nobody knows which."""
        fillings = self.last_changes(lift.seen)
        return lift.fact.id not in analysis.seen and (not fillings or head in fillings)

    def young(self, view: View, analysis: Fact) -> bool:
        moments = (analysis.at, analysis.recorded)
        if max(moments) > self.now + timedelta(minutes=5):
            return False
        end = min(min(moment + timedelta(hours=18), four_in_the_morning(moment)) for moment in moments)
        staged = any(
            analysis.id in one.fact.rests_on and not self.voiders(view, one.fact.id)
            and max(one.fact.at, one.fact.recorded) <= min(end, self.now + timedelta(minutes=5))
            for one in self.of(view, Kind.STAGED)
        )
        return self.now < (max(end, min(moments) + timedelta(days=3)) if staged else end)

    # ---- what people do

    def tell(
        self, phone: str, kind: str, skew: tuple[int, int], *, rests_on: tuple[FactId, ...] = (), **data: Value
    ) -> None:
        """A fact by a phone; it names in `after` every fact that the phone holds, changes only the changes."""
        view = self.views[phone]
        if kind in CHANGES:
            after = tuple(one.fact.id for one in self.last_changes(view))
        elif kind == Kind.LIFTED:
            after = tuple(one.fact.id for one in (*self.last_changes(view), *self.of(view, Kind.STAGED)))
            after = after if self.last_changes(view) else ()
        else:
            after = tuple(one.fact.id for one in self.of(view, Kind.ANALYSED, Kind.CORRECTED, Kind.LIFTED,
                                                         Kind.LABEL_APPLIED))
        key = f"{phone}-{sum(name.startswith(phone) for name in self.told) + 1}"
        at, recorded = (self.now + timedelta(minutes=minutes) for minutes in skew)
        fact = Fact(key, kind, "gas/c1", at, recorded, "d1", after, rests_on, data)
        self.told[key] = Told(fact, view)
        self.views[phone] = view | {key}

    @rule(phone=phones, kind=st.sampled_from((*CHANGES, Kind.FILLED, Kind.TOPPED_UP)), skew=skews)
    def change(self, phone: str, kind: str, skew: tuple[int, int]) -> None:
        self.tell(phone, kind, skew)

    @rule(phone=phones, skew=skews, o2=oxygens, he=st.sampled_from([4500, 4500, 4500, None]))
    def analyse(self, phone: str, skew: tuple[int, int], o2: int, he: int | None) -> None:
        heads = self.last_changes(self.views[phone])
        if len(heads) == 1:
            self.tell(phone, Kind.ANALYSED, skew, rests_on=(heads[0].fact.id,), o2_e4=o2, he_e4=he, u_o2_e4=U_E4,
                      u_he_e4=100)

    @rule(one=phones, other=phones, skew=skews, first=oxygens, second=oxygens)
    def second_opinion(self, one: str, other: str, skew: tuple[int, int], first: int, second: int) -> None:
        """Two people analyse one filling at a time, each on a phone that does not see the other's entry, and merge."""
        self.merge(one, other)
        self.analyse(one, skew, first, 4500)
        self.analyse(other, (0, 0), second, 4500)
        self.rest_on_analysis(one, (0, 0), Kind.LABEL_APPLIED)
        self.merge(one, other)

    @rule(phone=phones)
    def lift_and_analyse(self, phone: str) -> None:
        """A cylinder is lifted and analysed anew at once."""
        self.tell(phone, Kind.LIFTED, (0, 0))
        self.analyse(phone, (0, 0), 1800, 4500)

    @rule(phone=phones, skew=skews, kind=st.sampled_from([Kind.LABEL_APPLIED, Kind.STAGED, Kind.ACCEPTED]))
    def rest_on_analysis(self, phone: str, skew: tuple[int, int], kind: str) -> None:
        current = tuple(one.fact.id for one in self.current(self.views[phone]))
        if current:
            self.tell(phone, kind, skew, rests_on=current, serial_read="4711")

    @rule(phone=phones, skew=skews, kind=st.sampled_from([Kind.LIFTED, Kind.PRESSURE_READ, Kind.LABEL_LOST]))
    def lift_or_read(self, phone: str, skew: tuple[int, int], kind: str) -> None:
        self.tell(phone, kind, skew)

    @precondition(lambda self: any(self.views.values()))
    @rule(phone=phones, skew=skews, data=st.data())
    def correct(self, phone: str, skew: tuple[int, int], data: st.DataObject) -> None:
        """A correction, of whatever fact and from whatever clock, gives no trust to the phone's view."""
        if not self.views[phone]:
            return
        before = [self.standing(self.views[phone], now) for now in (None, self.now)]
        view = self.views[phone]
        matters = {one.fact.id for one in (*self.last_changes(view), *self.current(view),
                                           *self.of(view, Kind.LABEL_APPLIED, Kind.STAGED, Kind.LIFTED))}
        voided = data.draw(st.sampled_from(sorted(matters) * 3 + sorted(view)))
        self.tell(phone, Kind.CORRECTED, skew, voids=voided)
        for was, now in zip(before, (None, self.now), strict=True):
            standing = self.standing(self.views[phone], now)
            assert LADDER.index(standing.rung) <= LADDER.index(was.rung)
            if standing.known is not None:
                assert was.known is not None
                assert (standing.known.rich, standing.known.lean) == (was.known.rich, was.known.lean)
                assert set(standing.known.accepted_by) <= set(was.known.accepted_by)

    @rule(one=phones, other=phones)
    def merge(self, one: str, other: str) -> None:
        self.views[one] = self.views[other] = self.views[one] | self.views[other]

    @rule(minutes=st.sampled_from([10, 240, 240, 600, 900, 1500]))
    def wait(self, minutes: int) -> None:
        self.now += timedelta(minutes=minutes)

    # ---- what must hold

    def standing(self, view: View, now: datetime | None, *, backwards: bool = False) -> Standing:
        facts = [registered(), *(self.told[key].fact for key in sorted(view))]
        return fold(facts[::-1] if backwards else facts, "c1", POLICY, zone=ZONE, now=now)

    def every_view(self) -> set[View]:
        return {*self.views.values(), frozenset(self.told)}

    @invariant()
    def known_only_as_the_model_says(self) -> None:
        """The fold knows a gas where the model does and nowhere else, with and without a clock."""
        for view in self.every_view():
            vouching = self.vouching(view)
            timeless = self.standing(view, None)
            assert (timeless.known is not None) == bool(vouching), (timeless, view)
            young = bool(vouching) and all(self.young(view, one.fact) for one in vouching)
            timely = self.standing(view, self.now)
            assert (timely.known is not None) == young, (timely, view)
            if timely.known is not None:
                assert timely.known.analysis in {one.fact.id for one in vouching}

    @invariant()
    def known_gas_was_measured_after_every_change(self) -> None:
        """Whoever vouches for a gas had seen every change of it: a stale phone's analysis never counts."""
        for view in self.every_view():
            known = self.standing(view, self.now).known
            if known is not None:
                assert {one.fact.id for one in self.of(view, *CHANGES)} <= self.told[known.analysis].seen

    @invariant()
    def order_of_arrival_does_not_matter(self) -> None:
        """The same facts in the opposite order, or each twice, give the same standing."""
        for view in self.every_view():
            assert self.standing(view, self.now) == self.standing(view, self.now, backwards=True)

    @invariant()
    def label_counts_only_on_analyses_in_force(self) -> None:
        """A label that counts rests on what vouches now, and on nothing else."""
        for view in self.every_view():
            standing = self.standing(view, self.now)
            if standing.label is not None:
                vouching = {one.fact.id for one in self.vouching(view)}
                assert set(self.told[standing.label].fact.rests_on) <= vouching

    @invariant()
    def clocks_give_no_trust(self) -> None:
        """Whatever the clocks said, what is known with a clock is known without one, and by the same facts."""
        for view in self.every_view():
            timeless = self.standing(view, None)
            assert self.standing(view, self.now).known is None or timeless.known is not None
            moved = [replace(self.told[key].fact, at=START, recorded=START) for key in sorted(view)]
            same_time = fold(moved, "c1", POLICY, zone=ZONE, now=None)
            assert (same_time.known is None) == (timeless.known is None)

    @invariant()
    def missing_fact_makes_unknown(self) -> None:
        """If any fact that another names is taken out, the gas is unknown and the missing one is named."""
        view = frozenset(self.told)
        named = {name for key in view for name in (*self.told[key].fact.after, *self.told[key].fact.rests_on)}
        for missing in sorted(named)[:1]:
            standing = self.standing(view - {missing}, None)
            assert standing.why is Unknown.ABSENT_FACT
            assert missing in dict(standing.why_values)["fact"].split(", ")


def four_in_the_morning(moment: datetime) -> datetime:
    """The next 04:00 after a moment, two hours ahead of UTC."""
    shifted = moment - timedelta(hours=2)  # 04:00 local is 02:00 UTC
    return datetime(shifted.year, shifted.month, shifted.day, 2, tzinfo=UTC) + timedelta(days=1)


CustodyMachine.TestCase.settings = settings(max_examples=100, stateful_step_count=30)
TestCustodyMachine = CustodyMachine.TestCase
