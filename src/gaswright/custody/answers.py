"""What named persons answered to findings that ask."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from gaswright.custody.fact import Fact, Kind
from gaswright.custody.heads import READABLE_VERSION, of_kind, stream_facts, voids

__all__ = ["Answer", "answers"]

STREAM = "answer/"


@dataclass(frozen=True, slots=True)
class Answer:
    """One person's answer to an ask.

    Args:
        code: of the finding it covers.
        subject: of the finding, as typed.
        by: person id.
        at: when, by the person; aware.
        text: what was answered.
    """

    code: str
    subject: str
    by: str
    at: datetime
    text: str


def answers(facts: Sequence[Fact]) -> tuple[Answer, ...]:
    """Every answer that was not corrected away, in the order of its ids; one that cannot be read answers nothing.

    Args:
        facts: of any streams.

    Raises:
        Refused: one id stands for two different facts.
    """
    streams = sorted({fact.stream for fact in facts if fact.stream.startswith(STREAM)})
    return tuple(answer for stream in streams for answer in _of_stream(stream_facts(facts, stream)))


def _of_stream(stream: Sequence[Fact]) -> tuple[Answer, ...]:
    voided = voids(stream)
    given = [_answer(fact) for fact in of_kind(stream, Kind.ANSWERED)
             if fact.id not in voided and fact.version == READABLE_VERSION]
    return tuple(answer for answer in given if answer is not None)


def _answer(fact: Fact) -> Answer | None:
    code, subject, text = fact.data.get("code"), fact.data.get("subject"), fact.data.get("text")
    if not (isinstance(code, str) and isinstance(subject, str) and isinstance(text, str) and code and fact.by):
        return None
    return Answer(code, subject, fact.by, fact.at, text)
