"""Kinds have versions: old text is read through pure functions, never rewritten."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from gaswright.custody.fact import Fact, Value

__all__ = ["UPCASTS", "Data", "Upcast", "current"]

Data = Mapping[str, Value]
Upcast = Callable[[Data], Data]

UPCASTS: Mapping[tuple[str, int], Upcast] = {}  # (kind, version) to the function that makes data of the next version


def current(fact: Fact, upcasts: Mapping[tuple[str, int], Upcast] = UPCASTS) -> Fact:
    """The fact in the newest version that this program knows of its kind; unknown kinds and versions stay as they are.

    Args:
        fact: as recorded.
        upcasts: one function for each step from a version to the next.
    """
    while step := upcasts.get((fact.kind, fact.version)):
        fact = replace(fact, data=step(fact.data), version=fact.version + 1)
    return fact
