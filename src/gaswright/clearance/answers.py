"""Answers to asks: which findings a named person's answer covers."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from gaswright.clearance.scope import dive_day
from gaswright.custody.answers import Answer
from gaswright.findings import Finding, Severity
from gaswright.policy import Policy

__all__ = ["answered", "answers_in_force"]


BREATHER_S_OWN = frozenset({"analysis.by_another"})  # nobody else can accept what a diver will breathe


def answered(findings: Iterable[Finding], answers: Sequence[Answer]) -> tuple[Finding, ...]:
    """The findings, each ask marked with the first person whose answer covers it.

    An answer covers an ask of the same code whose subject holds all that the answer names: diver, cylinder, case, or
    the setting of a loosened policy; several are parted by commas, ids also by spaces. An answer that names nothing
    covers every ask of its code. A stop is never covered, nor a note. That a gas was analysed by another only the diver
    who breathes it can answer.

    Args:
        findings: of one clearance.
        answers: those in force.
    """
    return tuple(_answered(finding, answers) for finding in findings)


def answers_in_force(answers: Iterable[Answer], policy: Policy, *, zone: str, now: datetime) -> tuple[Answer, ...]:
    """The answers that count now: by somebody, of today's dive day, not in the future; in the order of time.

    Args:
        answers: all of them.
        policy: says when a dive day ends.
        zone: IANA name.
        now: the clock; aware.
    """
    today = dive_day(now, zone, policy)
    counting = (
        answer for answer in answers
        if answer.by.strip() and answer.at <= now and dive_day(answer.at, zone, policy) == today
    )
    return tuple(sorted(counting, key=lambda answer: (answer.at, answer.by)))


def _answered(finding: Finding, answers: Sequence[Answer]) -> Finding:
    if finding.severity is not Severity.ASK or finding.answered_by is not None:
        return finding
    covering = next((answer for answer in answers if _covers(answer, finding)), None)
    return replace(finding, answered_by=covering.by) if covering is not None else finding


def _covers(answer: Answer, finding: Finding) -> bool:
    if answer.code != finding.code:
        return False
    subject = finding.subject
    if finding.code in BREATHER_S_OWN and answer.by != subject.diver:
        return False
    about = {part for part in (subject.diver, subject.cylinder, subject.case, finding.rule.name) if part}
    return all(
        part.strip() in about or set(part.split()) <= about for part in answer.subject.split(",") if part.strip()
    )
