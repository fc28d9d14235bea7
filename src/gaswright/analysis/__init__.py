"""Analysis: what the gas is, and how sure we are."""
