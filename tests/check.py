"""The one helper with which tests compare numbers."""

import math

__all__ = ["close"]


def close(actual: float, expected: float, *, within: float, why: str = "") -> None:
    """Assert that two numbers differ by at most `within`, in their own unit."""
    assert math.isfinite(actual), f"{actual} is not a number {why}"
    assert abs(actual - expected) <= within, f"got {actual!r}, expected {expected!r} within {within!r} {why}"
