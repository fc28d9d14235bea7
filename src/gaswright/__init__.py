"""Gaswright: what is in this cylinder now, who says so, until when."""

__all__ = ["__version__"]

__version__ = "0.1.0"
