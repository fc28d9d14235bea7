"""Units at the door: what a person typed becomes canonical numbers, and numbers become text again.

Inside the program: m, bar, L, K, min, L/min, hundredths of a percent. Feet, psi, cubic feet, Fahrenheit and percent
exist only here and on paper.
"""

__all__ = ["BAR_PER_PSI", "LITRE_PER_CUBIC_FOOT", "METRE_PER_FOOT"]

METRE_PER_FOOT = 0.3048  # international foot, exact
BAR_PER_PSI = 0.0689475729  # from lbf and inch, rounded [NIST-SP811] appendix B
LITRE_PER_CUBIC_FOOT = 28.316846592  # (0.3048 m)^3, exact
