"""The JSON answers of the book: the board of a day, and the log."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from gaswright.exchange.answer_types import FindingAnswer, Head, StandingAnswer
from gaswright.exchange.answers import PROGRAM, Json, finding_shape, plain_json
from gaswright.findings import Finding
from gaswright.policy import Policy

__all__ = ["BOOK_ANSWERS", "LogAnswer", "LogRow", "TodayAnswer", "log_answer", "today_answer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TodayAnswer(Head):
    """`today`: every cylinder in use, every finding, and go; `input_sha256` is of the heads of the chain."""

    now: str
    cylinders: tuple[StandingAnswer, ...]
    findings: tuple[FindingAnswer, ...]
    go: bool


@dataclass(frozen=True, slots=True)
class LogRow:
    """One fact of the log.

    Args:
        id: of the fact.
        kind: what happened.
        stream: what it belongs to.
        at: when, by its author.
        recorded: when the machine took it.
        by: person id.
        name: of that person, null where it was erased or never came here.
        data: of the fact.
        after: ids that it names as seen.
        rests_on: ids that it rests on.
    """

    id: str
    kind: str
    stream: str
    at: str
    recorded: str
    by: str
    name: str | None
    data: Mapping[str, object]
    after: tuple[str, ...]
    rests_on: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogAnswer(Head):
    """`log`: the latest facts, oldest first."""

    facts: tuple[LogRow, ...]


def today_answer(
    policy: Policy, cylinders: Sequence[StandingAnswer], findings: Sequence[Finding], *, go: bool, now: datetime,
    input_sha256: str,
) -> Json:
    """The answer of `today`.

    Args:
        policy: that was used.
        cylinders: in the order of the board.
        findings: with answers applied.
        go: as clearance decided.
        now: the moment it was judged at; aware.
        input_sha256: of the heads of the chain.
    """
    return plain_json(TodayAnswer(
        schema="gaswright.today/1", program=PROGRAM, policy=policy.version, input_sha256=input_sha256,
        now=now.isoformat(), cylinders=tuple(cylinders), findings=tuple(finding_shape(one) for one in findings), go=go,
    ))


def log_answer(policy: Policy, rows: Sequence[LogRow], *, input_sha256: str) -> Json:
    """The answer of `log`.

    Args:
        policy: of the book.
        rows: oldest first.
        input_sha256: of the heads of the chain.
    """
    return plain_json(LogAnswer(schema="gaswright.log/1", program=PROGRAM, policy=policy.version,
                           input_sha256=input_sha256, facts=tuple(rows)))


BOOK_ANSWERS: Mapping[str, type] = {"today": TodayAnswer, "log": LogAnswer}
