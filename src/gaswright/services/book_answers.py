"""The answers of the book as JSON text and as lines."""

from collections.abc import Sequence

from gaswright.exchange.answer_types import StandingAnswer
from gaswright.exchange.answers import json_text
from gaswright.exchange.answers_book import LogRow, log_answer, today_answer
from gaswright.findings import Finding
from gaswright.services.book_day import Today
from gaswright.services.book_log import Entry
from gaswright.services.book_opening import OpenBook

__all__ = ["finding_lines", "log_answer_text", "log_lines", "today_answer_text"]

NOT_SHOWN = frozenset({"text", "implied", "u_o2_e4", "u_he_e4"})


def today_answer_text(shown: Today) -> str:
    """The answer of `today` as JSON text.

    Args:
        shown: the board.
    """
    rows = [
        StandingAnswer(row.cylinder, row.serial, ", ".join(row.divers), row.standing, row.hold, row.o2, row.he,
                       row.mod_m, row.mod_ft, row.why or None)
        for row in shown.rows
    ]
    checked = shown.checked
    return json_text(today_answer(
        checked.day.trip.policy, rows, checked.clearance.findings, go=checked.clearance.go, now=checked.now,
        input_sha256=checked.day.trip.input_sha256,
    ))


def log_answer_text(opened: OpenBook, entries: Sequence[Entry], input_sha256: str) -> str:
    """The answer of `log` as JSON text.

    Args:
        opened: the book.
        entries: oldest first.
        input_sha256: of the heads of the chain.
    """
    rows = [
        LogRow(entry.fact.id, entry.fact.kind, entry.fact.stream, entry.fact.at.isoformat(),
               entry.fact.recorded.isoformat(), entry.fact.by, entry.name, entry.fact.data, entry.fact.after,
               entry.fact.rests_on)
        for entry in entries
    ]
    return json_text(log_answer(opened.policy, rows, input_sha256=input_sha256))


def log_lines(entries: Sequence[Entry]) -> list[str]:
    """One line for each fact: when, id, what, of what, by whom, and what it says.

    Args:
        entries: oldest first.
    """
    return [_line(entry) for entry in entries]


def _line(entry: Entry) -> str:
    fact = entry.fact
    said = " ".join(f"{name}={value}" for name, value in fact.data.items()
                    if value is not None and name not in NOT_SHOWN and not isinstance(value, dict))
    who = f"{fact.by} ({entry.name})" if entry.name and entry.name != fact.by else fact.by
    return f"{fact.at:%Y-%m-%d %H:%M} {fact.id} {fact.kind} {fact.stream} by {who} {said}".rstrip()


def finding_lines(findings: Sequence[Finding]) -> list[str]:
    """Findings as lines: severity, cylinder, why, and what mends it.

    Args:
        findings: of an act.
    """
    return [
        f"{finding.severity.value.upper()} {finding.subject.cylinder or ''}: {finding.text}; {finding.mend}"
        for finding in findings
    ]
