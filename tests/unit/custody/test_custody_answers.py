"""Answers of named persons to findings that ask."""

from typing import Any

import pytest

from custody_facts import at_time, corrected, fact
from gaswright.custody.answers import Answer, answers
from gaswright.custody.fact import Kind

GIVEN = fact(Kind.ANSWERED, "Q-1", "08:00", by="lead", stream="answer/1", code="pair.differs", subject="d1-mains",
             text="seen, both read again")


def test_answer_is_read() -> None:
    """An answer names its code, subject, person, time and text."""
    assert answers([GIVEN]) == (Answer("pair.differs", "d1-mains", "lead", at_time("08:00"), "seen, both read again"),)


def test_corrected_answer_does_not_count() -> None:
    """An answer that was corrected away answers nothing."""
    assert answers([GIVEN, corrected("C-1", "Q-1", stream="answer/1")]) == ()


@pytest.mark.parametrize("changes", [{"code": ""}, {"code": None}, {"subject": 5}, {"text": None}])
def test_answer_that_cannot_be_read_does_not_count(changes: dict[str, Any]) -> None:
    """An answer without a code, a subject or a text answers nothing, nor does one of a newer version or of nobody."""
    data: dict[str, Any] = {"code": "c", "subject": "s", "text": "t"} | changes
    assert answers([fact(Kind.ANSWERED, "Q-1", stream="answer/1", **data)]) == ()
    assert answers([fact(Kind.ANSWERED, "Q-2", stream="answer/1", version=2, code="c", subject="s", text="t")]) == ()
    assert answers([fact(Kind.ANSWERED, "Q-3", stream="answer/1", by="", code="c", subject="s", text="t")]) == ()


def test_answers_come_in_the_order_of_their_ids() -> None:
    """The order in which answers are given does not matter."""
    second = fact(Kind.ANSWERED, "Q-2", stream="answer/0", code="c", subject="s", text="t")
    assert answers([second, GIVEN]) == answers([GIVEN, second])
